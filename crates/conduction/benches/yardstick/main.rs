//! Times the solver on the yardstick.
#![allow(clippy::expect_used)] // a bench may fail loudly

mod problem;

use std::time::Instant;

fn main() {
    for size in [problem::Size::S, problem::Size::M, problem::Size::L] {
        for variant in [problem::Variant::A, problem::Variant::B] {
            if std::env::args().any(|a| a == "quick") && size == problem::Size::L {
                continue;
            }
            let problem = problem::build(size, variant);
            let t = Instant::now();
            let mut solver = conduction::Solver::new(&problem.conductances, 1).expect("a system");
            let setup = t.elapsed();
            let s = solver.solve(&problem.power_w, &conduction::SolveOptions::default()).expect("a field");
            println!(
                "{size:?}-{variant:?}: {:.3} s set-up, {:.3} s all, {} iterations, {:.1} bytes/cell, {:.4?}",
                setup.as_secs_f64(),
                t.elapsed().as_secs_f64(),
                s.iterations,
                solver.bytes_per_cell(),
                problem::pad_rises_k(&problem, &s.rise_k)
            );
        }
    }
}
