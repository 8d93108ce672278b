//! The yardstick as an assembled sparse matrix in a file, for the comparators.

use std::fs::File;
use std::io::{BufWriter, Error, Write};
use std::path::Path;

use crate::problem::Problem;

/// A sparse system.
#[derive(Default)]
pub struct System {
    pub starts: Vec<i32>,
    pub columns: Vec<i32>,
    pub values: Vec<f64>,
    pub right: Vec<f64>,
}

impl System {
    /// Adds a row's entries, columns ascending.
    pub fn end_row(&mut self, entries: &[(i32, f64)]) {
        self.columns.extend(entries.iter().map(|entry| entry.0));
        self.values.extend(entries.iter().map(|entry| entry.1));
        self.starts.push(self.columns.len() as i32);
    }

    /// Writes rows and entries (64-bit), row starts and columns (32-bit), values and right side (double), little end first.
    pub fn write(&self, path: &Path) -> Result<(), Error> {
        let mut file = BufWriter::new(File::create(path)?);
        for size in [self.right.len() as i64, self.values.len() as i64] {
            file.write_all(&size.to_le_bytes())?;
        }
        for index in self.starts.iter().chain(&self.columns) {
            file.write_all(&index.to_le_bytes())?;
        }
        for value in self.values.iter().chain(&self.right) {
            file.write_all(&value.to_le_bytes())?;
        }
        file.flush()
    }
}

/// Writes the yardstick's system.
pub fn write(problem: &Problem, path: &Path) -> Result<(), Error> {
    let grid = &problem.grid;
    let faces = problem.conductances.faces();
    let (nx, layer, cells) = (grid.nx(), grid.nx() * grid.ny(), grid.cells());
    let mut system = System { starts: vec![0], right: problem.power_w.clone(), ..System::default() };
    for cell in 0..cells {
        let before = |step: usize, g: &[f64]| cell.checked_sub(step).map_or(0.0, |other| g[other]);
        let sides = [
            (-(layer as i64), before(layer, faces[2])),
            (-(nx as i64), before(nx, faces[1])),
            (-1, before(1, faces[0])),
            (1, faces[0][cell]),
            (nx as i64, faces[1][cell]),
            (layer as i64, faces[2][cell]),
        ];
        let diagonal = problem.conductances.ground()[cell] + sides.iter().map(|(_, g)| g).sum::<f64>();
        let beside = sides.iter().filter(|(_, g)| *g != 0.0);
        let mut entries: Vec<(i32, f64)> =
            beside.map(|(step, g)| ((cell as i64 + step) as i32, -g)).collect();
        entries.push((cell as i32, diagonal));
        entries.sort_by_key(|entry| entry.0);
        system.end_row(&entries);
    }
    system.write(path)
}
