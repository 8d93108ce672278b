//! The yardstick as an assembled sparse matrix in a file, for the comparators.

use std::fs::File;
use std::io::{BufWriter, Error, Write};
use std::path::Path;

use crate::problem::Problem;

/// Writes rows and entries (64-bit), row starts and columns (32-bit), values and right side (double), little end first.
pub fn write(problem: &Problem, path: &Path) -> Result<(), Error> {
    let grid = &problem.grid;
    let faces = problem.conductances.faces();
    let (nx, layer, cells) = (grid.nx(), grid.nx() * grid.ny(), grid.cells());
    let (mut starts, mut columns, mut values) = (vec![0i32], Vec::new(), Vec::new());
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
        for (step, g) in sides.iter().filter(|(step, g)| *step < 0 && *g != 0.0) {
            columns.push((cell as i64 + step) as i32);
            values.push(-g);
        }
        columns.push(cell as i32);
        values.push(diagonal);
        for (step, g) in sides.iter().filter(|(step, g)| *step > 0 && *g != 0.0) {
            columns.push((cell as i64 + step) as i32);
            values.push(-g);
        }
        starts.push(columns.len() as i32);
    }
    let mut file = BufWriter::new(File::create(path)?);
    for size in [cells as i64, values.len() as i64] {
        file.write_all(&size.to_le_bytes())?;
    }
    for index in starts.iter().chain(&columns) {
        file.write_all(&index.to_le_bytes())?;
    }
    for value in values.iter().chain(&problem.power_w) {
        file.write_all(&value.to_le_bytes())?;
    }
    file.flush()
}
