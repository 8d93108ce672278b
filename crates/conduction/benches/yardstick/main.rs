//! Times the solver on the yardstick, beside AMGCL and BoomerAMG where `comparators/install` has installed them:
//! `cargo bench -p conduction --bench yardstick [-- SIZES AND VARIANTS]`, such as `-- S M A`; all without. With `alone` the
//! others are left out.
//! CPU seconds are of one thread, set-up and solve, to a true relative residual of 1e-8; below them wall seconds on one and
//! on two threads, the least of three runs each. `-- foil` times a thin sheet of 4 million pixels. The machine counts: only ratios
//! of one call mean something.
#![allow(clippy::expect_used)] // a bench may fail loudly

mod foil;
mod matrix;
mod problem;

use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Instant;

use problem::{Problem, Size, Variant};

/// What one solver took.
struct Row {
    name: &'static str,
    iterations: usize,
    setup_s: f64,
    solve_s: f64,
    residual: f64,
    bytes: Option<f64>,
}

impl Row {
    fn print(&self, best_other_s: Option<f64>) {
        let all = self.setup_s + self.solve_s;
        let ratio = best_other_s.map_or(String::new(), |other| format!("{:6.1} x less CPU", other / all));
        let bytes = self.bytes.map_or(String::new(), |bytes| format!("{bytes:5.0} bytes a cell"));
        println!(
            "  {:<10} {:>4} iterations  set-up {:7.3} s  solve {:7.3} s  all {:7.3} s  residual {:8.1e}  {bytes}  {ratio}",
            self.name, self.iterations, self.setup_s, self.solve_s, all, self.residual
        );
    }
}

/// Seconds that this process has had of the processors.
fn cpu_s() -> f64 {
    let text = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let ticks = |field: usize| {
        text.rsplit(')').next().and_then(|rest| rest.split_whitespace().nth(field)?.parse::<f64>().ok())
    };
    // User and system time in hundredths of a second, fields 14 and 15 of proc(5).
    (ticks(11).unwrap_or(0.0) + ticks(12).unwrap_or(0.0)) / 100.0
}

/// A pool of some threads.
fn pool(threads: usize) -> rayon::ThreadPool {
    rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads")
}

fn ours(problem: &Problem) -> Row {
    let begin = cpu_s();
    let mut solver = conduction::Solver::new(&problem.conductances).expect("a system");
    let ready = cpu_s();
    let solution = solver.solve(&problem.power_w, &conduction::SolveOptions::default()).expect("a field");
    let end = cpu_s();
    println!("  pads {:.4?} K", problem::pad_rises_k(problem, &solution.rise_k));
    Row {
        name: "ours",
        iterations: solution.iterations,
        setup_s: ready - begin,
        solve_s: end - ready,
        residual: solution.relative_residual,
        bytes: Some(solver.bytes_per_cell()),
    }
}

/// Wall seconds on one and on two threads; the fields are the same to the bit.
fn print_threads(problem: &Problem) {
    let run = || {
        let began = Instant::now();
        let mut solver = conduction::Solver::new(&problem.conductances).expect("a system");
        let solution = solver.solve(&problem.power_w, &conduction::SolveOptions::default()).expect("a field");
        (began.elapsed().as_secs_f64(), solution.rise_k)
    };
    let pools = [pool(1), pool(2)];
    let mut best = [f64::INFINITY; 2];
    let mut fields = [Vec::new(), Vec::new()];
    for _ in 0..3 {
        for (index, pool) in pools.iter().enumerate() {
            let (wall_s, field) = pool.install(run);
            best[index] = best[index].min(wall_s);
            fields[index] = field;
        }
    }
    assert!(fields[0] == fields[1], "the number of threads shows in the field");
    println!(
        "  wall: one thread {:.3} s, two {:.3} s: {:.2} times as fast",
        best[0],
        best[1],
        best[0] / best[1]
    );
}

fn comparators() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("benches/yardstick/comparators")
}

/// Runs a comparator on the matrix; `None` when it is not installed.
fn other(name: &'static str, program: &Path, script: Option<&Path>, file: &Path) -> Option<Row> {
    let output = Command::new(program).args(script).arg(file).env("OMP_NUM_THREADS", "1").output().ok()?;
    let text = String::from_utf8_lossy(&output.stdout);
    let numbers: Vec<f64> = text.split_whitespace().filter_map(|word| word.parse().ok()).collect();
    let [iterations, setup_s, solve_s, residual, bytes] = numbers[..] else { return None };
    Some(Row { name, iterations: iterations as usize, setup_s, solve_s, residual, bytes: Some(bytes) })
}

/// Prints a row beside what the comparators take for the same system.
fn beside_others(row: &Row, name: &str, write: impl FnOnce(&Path) -> std::io::Result<()>) {
    let file = std::env::temp_dir().join(format!("yardstick-{}-{name}.bin", std::process::id()));
    write(&file).expect("room for the matrix in the scratch folder");
    let others: Vec<Row> = [
        other("AMGCL", &comparators().join("built/amgcl"), None, &file),
        other("BoomerAMG", Path::new("/usr/bin/python3"), Some(&comparators().join("boomeramg.py")), &file),
    ]
    .into_iter()
    .flatten()
    .collect();
    let _ = std::fs::remove_file(&file);
    row.print(others.iter().map(|other| other.setup_s + other.solve_s).reduce(f64::min));
    others.iter().for_each(|other| other.print(None));
    if others.is_empty() {
        println!("  (no comparator is installed; benches/yardstick/comparators/install does it)");
    }
}

fn ours_on_foil(sheet: &foil::Sheet) -> Row {
    let foil = sheet.foil();
    let begin = cpu_s();
    let mut solver = conduction::FoilSolver::new(&foil).expect("a system");
    let ready = cpu_s();
    let field = solver.solve(&sheet.sources(), &conduction::SolveOptions::default()).expect("a field");
    let end = cpu_s();
    let loss_w: f64 = sheet.sources().iter().map(|(cell, ampere)| ampere * field.potential_v[*cell]).sum();
    println!("  {:.6} ohm", loss_w / (foil::CURRENT_A * foil::CURRENT_A));
    Row {
        name: "ours",
        iterations: field.iterations,
        setup_s: ready - begin,
        solve_s: end - ready,
        residual: field.relative_residual,
        bytes: None,
    }
}

fn main() {
    let asked: Vec<String> = std::env::args().skip(1).filter(|word| !word.starts_with("--")).collect();
    let wanted = |name: String, all: [&str; 3]| {
        !asked.iter().any(|a| all.contains(&a.as_str())) || asked.contains(&name)
    };
    for size in [Size::S, Size::M, Size::L] {
        for variant in [Variant::A, Variant::B] {
            if asked.iter().any(|a| a == "foil")
                || !wanted(format!("{size:?}"), ["S", "M", "L"])
                || !wanted(format!("{variant:?}"), ["A", "B", ""])
            {
                continue;
            }
            let problem = problem::build(size, variant);
            println!("{size:?}-{variant:?}: {} cells", problem.grid.cells());
            // The first run also pays for fresh memory, as the comparators do.
            let row = pool(1).install(|| ours(&problem));
            print_threads(&problem);
            if asked.iter().any(|word| word == "alone") {
                row.print(None);
                continue;
            }
            beside_others(&row, &format!("{size:?}{variant:?}"), |file| matrix::write(&problem, file));
        }
    }
    if asked.iter().all(|a| a == "alone" || a == "foil") {
        let sheet = foil::Sheet::new();
        println!("foil: {} pixels", sheet.pixels());
        let row = pool(1).install(|| ours_on_foil(&sheet));
        if asked.iter().any(|word| word == "alone") {
            row.print(None);
        } else {
            beside_others(&row, "foil", |file| sheet.write(file));
        }
    }
}
