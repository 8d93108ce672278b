//! What is read of a field, as weights of its cells: solder points, sensors, places of the board.

use crate::as_built::{Sensor, SitsOn};
use crate::gridding::{Footprint, Gridded, Surface, SurfacePiece};
use crate::model::Model;
use crate::reading;
use crate::stage::Stage;

/// Reads a rise: cells with their weights, and what an emitter's own heat adds between a cell's middle and its face.
#[derive(Debug, Clone, Default)]
pub(crate) struct Weights {
    /// Cell and weight.
    pub cells: Vec<(usize, f64)>,
    /// K per watt of the emitter read; 0 for all else.
    pub own_k_per_w: f64,
}

/// The upper face of a plane: a cell's middle with the drop over its half, as [`Stage::upper_face_k`] has it where nothing lies above.
struct UpperFace {
    plane: usize,
    /// Drop per watt through the half cell, K/W, by column.
    half_k_per_w: Vec<f64>,
    /// Conductance to the room, W/K, by column.
    out_w_per_k: Vec<f64>,
}

impl UpperFace {
    fn new(stage: &Stage, plane: usize) -> Self {
        let gridded = &stage.gridded;
        let columns = gridded.plan.columns();
        let half = |c: usize| {
            let half = gridded.half_m2k_per_w(plane, c);
            if half.is_finite() { half / gridded.areas_m2[c] } else { 0.0 }
        };
        let mut out_w_per_k = vec![0.0; columns];
        for (index, _) in gridded.surfaces.iter().enumerate().filter(|(_, s)| s.kind.is_upper()) {
            for (cell, g) in stage.to_room(index, 0.0).filter(|(cell, _)| *cell / columns == plane) {
                out_w_per_k[cell % columns] += g;
            }
        }
        Self { plane, half_k_per_w: (0..columns).map(half).collect(), out_w_per_k }
    }

    fn of(&self, columns: &[(usize, f64)]) -> Weights {
        let first = self.plane * self.half_k_per_w.len();
        let with_drop =
            |(c, w): &(usize, f64)| (first + *c, w * (1.0 - self.half_k_per_w[*c] * self.out_w_per_k[*c]));
        Weights { cells: columns.iter().map(with_drop).collect(), own_k_per_w: 0.0 }
    }

    /// Mean over a footprint, whose own heat goes in at the face.
    fn mean(&self, footprint: &Footprint) -> Weights {
        let own = footprint.columns.iter().map(|(c, part)| part * part * self.half_k_per_w[*c]).sum();
        Weights { own_k_per_w: own, ..self.of(&footprint.columns) }
    }
}

/// Reads the mean over a face, at the middles of its cells.
pub(crate) fn face_mean(face: &Surface) -> Weights {
    let part = |p: &SurfacePiece| (p.cell, p.area_m2 / face.area_m2);
    Weights { cells: face.pieces.iter().map(part).collect(), own_k_per_w: 0.0 }
}

/// Where in a grid a sensor sits.
enum Spot {
    /// On a plane's upper face: columns and their weights.
    Face { plane: usize, columns: Vec<(usize, f64)> },
    /// Between the middles of cells: cells and their weights.
    Inside(Vec<(usize, f64)>),
}

impl Spot {
    fn of(gridded: &Gridded, sensor: &Sensor) -> Option<Self> {
        let (x, y) = (1e-6 * f64::from(sensor.at.x_nm), 1e-6 * f64::from(sensor.at.y_nm));
        let has_board = |c: usize| gridded.board_share[c] > 0.0;
        let has_base = |c: usize| gridded.base_share[c] > 0.0;
        let board_planes = gridded.board_planes();
        let face = |plane: usize, columns| Self::Face { plane, columns };
        if sensor.on == SitsOn::Board {
            return reading::weights(&gridded.plan, has_board, x, y).map(|columns| face(0, columns));
        }
        if let Some(columns) = reading::weights(&gridded.plan, |c| has_base(c) && !has_board(c), x, y) {
            return Some(face(board_planes, columns));
        }
        let columns = reading::weights(&gridded.plan, has_base, x, y)?;
        let all = gridded.plan.columns();
        let cells = middle_planes(gridded).into_iter().flat_map(|(plane, part)| {
            columns.iter().map(move |(column, w)| (plane * all + column, w * part)).collect::<Vec<_>>()
        });
        Some(Self::Inside(cells.collect()))
    }
}

/// The planes whose middles lie on either side of the middle of the base's thickness, and their parts of what is read there.
fn middle_planes(gridded: &Gridded) -> Vec<(usize, f64)> {
    let planes = gridded.planes.iter().enumerate().filter(|(_, p)| p.layer.is_none());
    let mut depth_m = 0.0;
    let middles: Vec<(usize, f64)> = planes
        .map(|(plane, of)| {
            depth_m += of.thickness_m;
            (plane, depth_m - 0.5 * of.thickness_m)
        })
        .collect();
    let after = middles.partition_point(|(_, at)| *at < 0.5 * depth_m).clamp(1, middles.len().max(2) - 1);
    match (middles.get(after - 1), middles.get(after)) {
        (Some((upper, from)), Some((lower, to))) => {
            let part = ((0.5 * depth_m - from) / (to - from)).clamp(0.0, 1.0);
            vec![(*upper, 1.0 - part), (*lower, part)]
        }
        _ => middles.iter().map(|(plane, _)| (*plane, 1.0)).collect(),
    }
}

/// Rise of a sensor's place, K, with the rises of the emitter side's face; `None` where there is nothing for it to sit on.
pub(crate) fn sensor_rise_k(stage: &Stage, sensor: &Sensor, top_face_k: &[f64]) -> Option<f64> {
    let sum =
        |weights: &[(usize, f64)], rises_k: &[f64]| weights.iter().map(|(at, w)| w * rises_k[*at]).sum();
    match Spot::of(&stage.gridded, sensor)? {
        Spot::Face { plane: 0, columns } if sensor.on == SitsOn::Board => Some(sum(&columns, top_face_k)),
        Spot::Face { plane, columns } => Some(sum(&columns, &stage.upper_face_k(plane))),
        Spot::Inside(cells) => Some(sum(&cells, &stage.rise_k)),
    }
}

impl Model {
    /// Reads the solder point of each emitter.
    pub(crate) fn solder_weights(&self) -> Vec<Weights> {
        let top = UpperFace::new(&self.fine, 0);
        self.fine.gridded.emitters.iter().map(|f| top.mean(f)).collect()
    }

    /// Reads the place of each sensor; `None` where there is nothing for it to sit on.
    pub(crate) fn sensor_weights(&self) -> Vec<Option<Weights>> {
        let read = |sensor: &Sensor| match Spot::of(&self.fine.gridded, sensor)? {
            Spot::Face { plane, columns } => Some(UpperFace::new(&self.fine, plane).of(&columns)),
            Spot::Inside(cells) => Some(Weights { cells, own_k_per_w: 0.0 }),
        };
        self.lamp.sensors.iter().map(read).collect()
    }

    /// Reads the place of the board that is now the hottest.
    pub(crate) fn hottest_board_weights(&self) -> Option<Weights> {
        let rises = self.fine.top_face_k();
        let there = (0..rises.len()).filter(|c| rises[*c].is_finite());
        let hottest = there.max_by(|a, b| rises[*a].total_cmp(&rises[*b]))?;
        Some(UpperFace::new(&self.fine, 0).of(&[(hottest, 1.0)]))
    }
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::AtomicBool;

    use super::*;
    use crate::model::GridChoice;
    use crate::project::{MemoryFolder, read};

    const LAMP: &str = r#"
        [drive]
        currents = ["1 A"]
        [[emitters]]
        sheet = "white-3.5mm"
        refs = ["D1"]
        at = [["6 mm", "8 mm"]]
        [[sensor]]
        name = "board"
        at = ["12.3 mm", "5.1 mm"]
        [[sensor]]
        name = "beside"
        on = "heatsink"
        at = ["22.5 mm", "6 mm"]
        [[sensor]]
        name = "below"
        on = "heatsink"
        at = ["9 mm", "6 mm"]
        [[sensor]]
        name = "nowhere"
        on = "heatsink"
        at = ["90 mm", "6 mm"]
        [faces]
        top = "400 W/m2/K"
        [bond]
        thickness = "80 um"
        conductivity = "1.5 W/m/K"
        [heatsink]
        base = ["30 mm", "24 mm"]
        base_thickness = "3 mm"
        material = "poor"
        resistance = "2 K/W"
        [material.poor]
        conductivity = "2 W/m/K"
        [variant.only]
        outline = ["20 mm", "15 mm"]
        [variant.only.board]
        kind = "aluminium core"
        dielectric = "filled epoxy 2 W/m/K class"
    "#;

    /// Weights give what the field gives; beside the board that is the face's temperature, whose film draws heat through half a cell.
    #[test]
    fn sensors_are_read_where_they_sit() {
        let reading = read(&MemoryFolder::new([("lamp.toml".to_owned(), LAMP.as_bytes().to_vec())]));
        let told: Vec<&str> = reading.remarks.iter().map(|r| r.text.as_str()).collect();
        assert!(
            told.iter().any(|t| t.contains("nowhere at 90.00, 6.00 mm is on no variant's heatsink base")),
            "{told:?}"
        );
        let lamp = reading.lamp.unwrap();
        let choice = GridChoice { finest_pitch_m: Some(5e-4), cells_at_most: None };
        let mut model = Model::new(&lamp, &lamp.variants[0], &choice, 1).unwrap();
        let run = model.run(1.0, 25.0, &AtomicBool::new(false)).unwrap();
        let readings: Vec<Option<f64>> = run.sensors.iter().map(|s| s.reading_c.map(|c| c - 25.0)).collect();
        let weights = model.sensor_weights();
        assert!(readings[3].is_none() && weights[3].is_none());
        for (read, weights) in readings.iter().zip(&weights).take(3) {
            let by_weights: f64 =
                weights.as_ref().unwrap().cells.iter().map(|(cell, w)| w * model.fine.rise_k[*cell]).sum();
            assert!((read.unwrap() - by_weights).abs() < 1e-9, "{read:?} {by_weights}");
        }
        let depth = model.depths().iter().position(|d| d.name == "front of the heatsink base").unwrap();
        let face_k = model.temperature_c(22.5, 6.0, depth).unwrap() - 25.0;
        assert!((readings[1].unwrap() - face_k).abs() < 1e-9, "{readings:?} {face_k}");
        let plain: f64 = {
            let of = weights[1].as_ref().unwrap();
            let sum: f64 = of.cells.iter().map(|c| c.1).sum();
            of.cells.iter().map(|(cell, w)| w * model.fine.rise_k[*cell]).sum::<f64>() / sum
        };
        assert!(plain - face_k > 0.02, "the film draws heat through half a cell: {plain} {face_k}");
        // Deeper is cooler: the sensor in the base lies between its faces.
        let below = |name: &str| {
            let depth = model.depths().iter().position(|d| d.name == name).unwrap();
            model.temperature_c(9.0, 6.0, depth).unwrap() - 25.0
        };
        let (front, back) = (below("front of the heatsink base"), below("back of the heatsink base"));
        assert!(front > readings[2].unwrap() && readings[2].unwrap() > back, "{front} {readings:?} {back}");
    }
}
