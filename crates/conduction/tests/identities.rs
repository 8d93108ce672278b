//! What holds for any field, on grids with unequal cells, jumps, holes and odd sizes.
#![allow(clippy::unwrap_used, clippy::expect_used)] // a test may fail loudly

use std::sync::atomic::AtomicBool;

use conduction::{Conductances, Field, Grid, Interface, SolveError, SolveOptions, Solver};

/// Residual asked for; rises are then right to about this, relative to the largest.
const TIGHT: f64 = 1e-11;
/// What the residual leaves of an identity.
const ROUNDING: f64 = 1e-8;

struct Board {
    grid: Grid,
    conductances: Conductances,
}

fn stretched(count: usize, first: f64, ratio: f64) -> Vec<f64> {
    let mut lines = vec![0.0];
    let mut step = first;
    for index in 0..count {
        lines.push(lines[index] + step);
        step *= if index < count / 2 { ratio } else { 1.0 / ratio };
    }
    lines
}

/// Copper with gaps on a dielectric on a core, a missing corner in the lower half, films above and below.
fn board(nx: usize, ny: usize) -> Board {
    let z = vec![0.0, 7e-5, 1.2e-4, 1.7e-4, 5e-4, 1.1e-3, 1.7e-3];
    let grid = Grid::new(stretched(nx, 2e-4, 1.08), stretched(ny, 3e-4, 1.05), z).unwrap();
    let mut k = vec![0.0; grid.cells()];
    for layer in 0..grid.nz() {
        for j in 0..ny {
            for i in 0..nx {
                let c = grid.index(i, j, layer);
                let gap = (i * 7 + j * 3) % 5 == 0;
                let missing = layer >= 3 && i < nx / 4 && j < ny / 4;
                k[c] = match layer {
                    0 if gap => 0.25,
                    0 => 390.0,
                    1 | 2 => 2.0,
                    _ if missing => 0.0,
                    _ => 138.0,
                };
            }
        }
    }
    let thin = vec![2e-6; nx * ny];
    let interfaces = [Interface { below_layer: 2, resistance_m2k_per_w: &thin }];
    let mut conductances = Conductances::from_cells(&grid, &k, &k, &k, &interfaces).unwrap();
    conductances.add_top_film(&grid, &k, &[12.0]).unwrap();
    conductances.add_bottom_film(&grid, &k, &[700.0]).unwrap();
    Board { grid, conductances }
}

fn solve(board: &Board, power_w: &[f64]) -> Vec<f64> {
    let options = SolveOptions { relative_residual: TIGHT, ..SolveOptions::default() };
    let solution = Solver::new(&board.conductances).unwrap().solve(power_w, &options).unwrap();
    assert!(solution.balance.relative_error.abs() < 1e-6);
    solution.rise_k
}

fn point_source(board: &Board, i: usize, j: usize) -> (Vec<f64>, usize) {
    let mut power = vec![0.0; board.grid.cells()];
    let cell = board.grid.index(i, j, 0);
    power[cell] = 2.0;
    (power, cell)
}

#[test]
fn heat_in_equals_heat_out() {
    let board = board(37, 22);
    let (power, _) = point_source(&board, 9, 9);
    let rise = solve(&board, &power);
    let out: f64 = rise.iter().zip(board.conductances.ground()).map(|(t, g)| t * g).sum();
    assert!((out / 2.0 - 1.0).abs() < 1e-9, "{out}");
}

#[test]
fn swapping_source_and_probe_gives_the_same_rise() {
    let board = board(37, 22);
    let (a, at) = point_source(&board, 5, 7);
    let (b, probe) = point_source(&board, 30, 15);
    let (there, back) = (solve(&board, &a)[probe], solve(&board, &b)[at]);
    assert!((there / back - 1.0).abs() < ROUNDING * 10.0, "{there} {back}");
}

#[test]
fn doubling_power_doubles_the_rise() {
    let board = board(20, 31);
    let (power, cell) = point_source(&board, 11, 3);
    let doubled: Vec<f64> = power.iter().map(|p| 2.0 * p).collect();
    let (once, twice) = (solve(&board, &power), solve(&board, &doubled));
    assert!((twice[cell] / once[cell] - 2.0).abs() < ROUNDING);
}

#[test]
fn splitting_a_layer_changes_nothing() {
    // Uniform heat, so that the field only varies with depth: a plate of two materials, then with the lower one cut in two.
    let rises = |z: Vec<f64>, k: &[f64]| {
        let grid = Grid::new(stretched(6, 1e-3, 1.0), stretched(5, 1e-3, 1.0), z).unwrap();
        let layer = grid.nx() * grid.ny();
        let cells: Vec<f64> = k.iter().flat_map(|k| std::iter::repeat_n(*k, layer)).collect();
        let mut conductances = Conductances::from_cells(&grid, &cells, &cells, &cells, &[]).unwrap();
        conductances.add_bottom_film(&grid, &cells, &[500.0]).unwrap();
        let mut power = vec![0.0; grid.cells()];
        power[..layer].fill(0.1);
        let board = Board { grid, conductances };
        solve(&board, &power)[0]
    };
    let whole = rises(vec![0.0, 1e-3, 3e-3], &[200.0, 0.3]);
    let split = rises(vec![0.0, 1e-3, 1.4e-3, 3e-3], &[200.0, 0.3, 0.3]);
    assert!((whole / split - 1.0).abs() < ROUNDING, "{whole} {split}");
    // And both are the sum of the resistances: t/2k + t/k + 1/h per area (Incropera et al., section 3.1).
    let flux = 0.1 / 1e-6;
    let exact = flux * (0.5e-3 / 200.0 + 2e-3 / 0.3 + 1.0 / 500.0);
    assert!((whole / exact - 1.0).abs() < ROUNDING, "{whole} {exact}");
}

#[test]
fn mirrored_board_gives_mirrored_field() {
    let build = |mirror: bool| {
        let (nx, ny) = (25, 18);
        let grid = Grid::new(stretched(nx, 4e-4, 1.0), stretched(ny, 4e-4, 1.0), vec![0.0, 1e-4, 3e-4, 1e-3])
            .unwrap();
        let mut k = vec![0.0; grid.cells()];
        let mut power = vec![0.0; grid.cells()];
        for layer in 0..3 {
            for j in 0..ny {
                for i in 0..nx {
                    let x = if mirror { nx - 1 - i } else { i };
                    k[grid.index(i, j, layer)] =
                        if layer == 0 { if (x * x + j) % 4 == 0 { 0.3 } else { 390.0 } } else { 1.5 };
                    if layer == 0 && x == 4 && j == 5 {
                        power[grid.index(i, j, layer)] = 1.0;
                    }
                }
            }
        }
        let mut conductances = Conductances::from_cells(&grid, &k, &k, &k, &[]).unwrap();
        conductances.add_bottom_film(&grid, &k, &[300.0]).unwrap();
        let board = Board { grid, conductances };
        solve(&board, &power)
    };
    let (plain, mirrored) = (build(false), build(true));
    for j in 0..18 {
        for i in 0..25 {
            let (a, b) = (plain[j * 25 + i], mirrored[j * 25 + 24 - i]);
            assert!((a - b).abs() < ROUNDING * plain[5 * 25 + 4], "{i} {j}: {a} {b}");
        }
    }
}

#[test]
fn odd_sizes_and_single_columns_are_solved() {
    for (nx, ny) in [(1, 1), (1, 9), (2, 1), (3, 5), (17, 2), (33, 31)] {
        let board = board(nx, ny);
        let (power, cell) = point_source(&board, nx - 1, ny - 1);
        assert!(solve(&board, &power)[cell] > 0.0, "{nx} x {ny}");
    }
}

#[test]
fn absent_cells_stay_at_nothing_and_runs_repeat_to_the_bit() {
    let board = board(37, 22);
    let (power, _) = point_source(&board, 20, 12);
    let (first, second) = (solve(&board, &power), solve(&board, &power));
    assert!(first.iter().zip(&second).all(|(a, b)| a.to_bits() == b.to_bits()));
    assert_eq!(first[board.grid.index(0, 0, 5)], 0.0);
}

#[test]
fn the_number_of_threads_shows_in_no_bit() {
    // Large enough that five threads each get rows.
    let board = board(161, 94);
    let (power, cell) = point_source(&board, 80, 31);
    let fields: Vec<Vec<f64>> = [1, 2, 3, 5]
        .iter()
        .map(|threads| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(*threads).build().unwrap();
            pool.install(|| solve(&board, &power))
        })
        .collect();
    assert!(fields[0][cell] > 0.0);
    for field in &fields[1..] {
        assert!(field.iter().zip(&fields[0]).all(|(a, b)| a.to_bits() == b.to_bits()));
    }
}

#[test]
fn what_cannot_be_solved_is_an_error() {
    let board = board(12, 12);
    let (power, _) = point_source(&board, 6, 6);
    let mut solver = Solver::new(&board.conductances).unwrap();
    let stop = AtomicBool::new(true);
    let cancelled = solver.solve(&power, &SolveOptions { cancel: Some(&stop), ..SolveOptions::default() });
    assert_eq!(cancelled.unwrap_err(), SolveError::Cancelled);
    let hasty = solver.solve(&power, &SolveOptions { max_iterations: 1, ..SolveOptions::default() });
    assert!(matches!(hasty.unwrap_err(), SolveError::NotConverged { iterations: 1, .. }));
    assert!(matches!(
        solver.solve(&[1.0], &SolveOptions::default()).unwrap_err(),
        SolveError::WrongLength { .. }
    ));
    // A board without any way out.
    let grid = Grid::new(vec![0.0, 1.0, 2.0], vec![0.0, 1.0], vec![0.0, 1.0]).unwrap();
    let shut = Conductances::from_cells(&grid, &[1.0; 2], &[1.0; 2], &[1.0; 2], &[]).unwrap();
    let floating = Solver::new(&shut).unwrap().solve(&[1.0, 0.0], &SolveOptions::default());
    assert_eq!(floating.unwrap_err(), SolveError::Floating { cells: 1 });
}

#[test]
fn a_new_ground_gives_the_exact_answer_at_once() {
    let board = board(30, 20);
    let (power, _) = point_source(&board, 10, 10);
    let mut solver = Solver::new(&board.conductances).unwrap();
    let ground: Vec<f64> = board.conductances.ground().iter().map(|g| 3.0 * g).collect();
    solver.set_ground(&ground).unwrap();
    let options = SolveOptions { relative_residual: TIGHT, ..SolveOptions::default() };
    let changed = solver.solve(&power, &options).unwrap().rise_k;
    let out: f64 = changed.iter().zip(&ground).map(|(t, g)| t * g).sum();
    assert!((out / 2.0 - 1.0).abs() < 1e-9, "{out}");
}

/// Order of accuracy on three grids with unequal cells and a conductivity jump, against the exact cosine mode of a
/// two-layer plate: T = cos(pi x / L) f(z), with the flux q cos(pi x / L) at the top (separation of variables, Carslaw and
/// Jaeger, Conduction of Heat in Solids, 2nd ed. 1959).
#[test]
fn unequal_cells_with_a_jump_converge_at_second_order() {
    let (length, t, k, h, q) = (20e-3, [1e-3, 3e-3], [200.0, 5.0], 400.0, 1e4);
    let g = std::f64::consts::PI / length;
    // Admittance from the bottom up: Y <- k g (Y + k g tanh(g t)) / (k g + Y tanh(g t)).
    let exact = [1, 0].iter().fold(h, |y, &i| {
        let (kg, th) = (k[i] * g, (g * t[i]).tanh());
        kg * (y + kg * th) / (kg + y * th)
    });
    let error = |n: usize| {
        // Cells alternate between two sizes.
        let split = |from: f64, size: f64, n: usize| -> Vec<f64> {
            (1..=n)
                .map(|i| from + size * (i as f64 + if i % 2 == 1 { 0.15 } else { 0.0 }) / n as f64)
                .collect()
        };
        let mut z = vec![0.0];
        z.extend(split(0.0, t[0], 2 * n));
        z.extend(split(t[0], t[1], 2 * n));
        let mut x = vec![0.0];
        x.extend(split(0.0, length, 4 * n));
        let grid = Grid::new(x, vec![0.0, 1e-3], z).unwrap();
        let cells: Vec<f64> =
            (0..grid.cells()).map(|c| if c / grid.nx() < 2 * n { k[0] } else { k[1] }).collect();
        let mut conductances = Conductances::from_cells(&grid, &cells, &cells, &cells, &[]).unwrap();
        conductances.add_bottom_film(&grid, &cells, &[h]).unwrap();
        let lines = grid.x_lines_m().to_vec();
        let mut power = vec![0.0; grid.cells()];
        for i in 0..grid.nx() {
            // The flux's exact integral over the cell.
            power[i] = q * 1e-3 * ((g * lines[i + 1]).sin() - (g * lines[i]).sin()) / g;
        }
        let first_half = 0.5 * (grid.z_lines_m()[1] - grid.z_lines_m()[0]);
        let board = Board { grid, conductances };
        let rise = solve(&board, &power);
        // Root mean square over the top face, read at the cells' middles.
        let sum: f64 = (0..board.grid.nx())
            .map(|i| {
                let (a, b) = (lines[i], lines[i + 1]);
                let flux = power[i] / (1e-3 * (b - a));
                let face = rise[i] + flux * first_half / k[0];
                (face - q / exact * (g * 0.5 * (a + b)).cos()).powi(2) * (b - a)
            })
            .sum();
        (sum / length).sqrt()
    };
    let errors = [error(4), error(8), error(16)];
    for pair in errors.windows(2) {
        let order = (pair[0] / pair[1]).log2();
        assert!(order > 1.8, "order {order}: {errors:?}");
    }
}

#[test]
fn a_field_is_read_between_its_cells() {
    let grid = Grid::new(vec![0.0, 1.0, 3.0], vec![0.0, 1.0], vec![0.0, 1.0]).unwrap();
    let field = Field::new(&grid, &[10.0, 25.0]).unwrap();
    // Middles at 0.5 and 2.0: linear between, level outside them.
    assert_eq!(field.at(0.5, 0.5, 0.5), Some(10.0));
    assert_eq!(field.at(1.25, 0.5, 0.5), Some(17.5));
    assert_eq!(field.at(0.1, 0.5, 0.5), Some(10.0));
    assert_eq!(field.at(3.0, 1.0, 1.0), Some(25.0));
    assert_eq!(field.at(3.1, 0.5, 0.5), None);
}

/// A single layer is solved by the sheet's multigrid alone, which has to take over a new ground.
#[test]
fn a_single_layer_with_a_new_ground_is_as_if_made_with_it() {
    let lines = |n: usize| (0..=n).map(|i| i as f64).collect::<Vec<_>>();
    let grid = Grid::new(lines(90), lines(70), lines(1)).unwrap();
    let cells = grid.cells();
    let made = |ground: Vec<f64>| {
        Conductances::from_faces(&grid, vec![2.0; cells], vec![3.0; cells], vec![0.0; cells], ground).unwrap()
    };
    let at = |cell: usize| (0..cells).map(|c| if c == cell { 5.0 } else { 0.0 }).collect::<Vec<f64>>();
    let options = SolveOptions { relative_residual: TIGHT, max_iterations: 25, ..SolveOptions::default() };
    let mut moved = Solver::new(&made(at(17))).unwrap();
    moved.set_ground(&at(5000)).unwrap();
    let moved = moved.solve(&at(300), &options).unwrap();
    let fresh = Solver::new(&made(at(5000))).unwrap().solve(&at(300), &options).unwrap();
    assert_eq!(moved.iterations, fresh.iterations);
    assert!(moved.rise_k == fresh.rise_k, "a sheet that lags behind");
}
