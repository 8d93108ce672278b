//! The yardstick against values from general-purpose libraries.
#![allow(clippy::unwrap_used, clippy::expect_used)] // a test may fail loudly

#[allow(dead_code)] // shared with the bench
#[path = "../benches/yardstick/problem.rs"]
mod problem;

use conduction::{SolveOptions, Solver};
use problem::{Size, Variant, build, pad_rises_k};

/// Mean pad rises, K, to four decimals, from the same conductances as an assembled matrix, solved by AMGCL and by
/// BoomerAMG (hypre, through PETSc) to a residual of 1e-8; both agree to all digits.
const S_A: [f64; 6] = [46.3813, 47.7839, 50.9754, 46.6538, 47.7936, 47.6089];
const S_B: [f64; 6] = [63.3290, 64.2389, 66.1240, 63.5861, 65.1803, 63.9040];

#[test]
fn pads_have_the_rises_of_the_reference_libraries() {
    for (variant, reference) in [(Variant::A, S_A), (Variant::B, S_B)] {
        let problem = build(Size::S, variant);
        let mut solver = Solver::new(&problem.conductances).unwrap();
        let solution = solver.solve(&problem.power_w, &SolveOptions::default()).unwrap();
        println!(
            "{variant:?}: {} iterations, {:.0} bytes a cell",
            solution.iterations,
            solver.bytes_per_cell()
        );
        for (found, wanted) in pad_rises_k(&problem, &solution.rise_k).into_iter().zip(reference) {
            assert!((found - wanted).abs() < 1e-4, "{variant:?}: {found} K, reference {wanted} K");
        }
        assert!(solution.balance.relative_error.abs() < 1e-6);
    }
}
