//! `lampwright record`: a run as a logger sends it, by every source, with everything that goes wrong at a bench.
#![cfg(unix)]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test fails by panicking")]

mod support;

use std::fs::{self, File, OpenOptions};
use std::io::{Read, Write};
use std::path::Path;
use std::process::{Child, ChildStdin, Command, Stdio};
use std::time::{Duration, Instant};

use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use serde_json::Value;
use support::Scratch;

const HEADER: &str = "t (s),U1 (V),ambient (degC),I drive (A)\n";
const PATIENCE: Duration = Duration::from_secs(60);
/// What every run here is given, so that no prediction runs beside it.
const GIVEN: [&str; 4] = ["--variant", "plain", "--abort-above", "85 degC"];

/// The row of a logger that samples once a second: 0.5 V + 10 mV/K, the law of the demo's sensor.
fn row(second: u32, board_c: f64) -> String {
    format!("{second},{:.4},22.0,0.70\n", 0.5 + 0.010 * board_c)
}

/// A recording that runs.
struct Running {
    child: Child,
    err: std::sync::Arc<std::sync::Mutex<String>>,
}

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

impl Running {
    fn start(folder: &Path, words: &[&str]) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_lampwright"))
            .arg("record")
            .args(words)
            .current_dir(folder)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program starts");
        let mut from = child.stderr.take().unwrap();
        let err = std::sync::Arc::new(std::sync::Mutex::new(String::new()));
        let kept = std::sync::Arc::clone(&err);
        std::thread::spawn(move || {
            let mut chunk = [0; 4096];
            while let Ok(count @ 1..) = from.read(&mut chunk) {
                kept.lock().unwrap().push_str(&String::from_utf8_lossy(&chunk[..count]));
            }
        });
        Self { child, err }
    }

    fn input(&mut self) -> ChildStdin {
        self.child.stdin.take().expect("its input")
    }

    fn said(&self) -> String {
        support::flat(&self.err.lock().unwrap())
    }

    fn wait_said(&self, words: &str) {
        wait_until(words, || self.said().contains(words), || self.said());
    }

    /// Its end: exit status and the JSON object.
    fn end(mut self) -> (i32, Value) {
        let mut out = String::new();
        self.child.stdout.take().unwrap().read_to_string(&mut out).unwrap();
        let status = self.child.wait().unwrap().code().expect("it ends on its own");
        (status, serde_json::from_str(&out).unwrap_or_else(|_| panic!("JSON: {out}{}", self.said())))
    }

    fn interrupt(&self) {
        let id = rustix::process::Pid::from_child(&self.child);
        rustix::process::kill_process(id, rustix::process::Signal::INT).unwrap();
    }
}

fn wait_until(what: &str, mut done: impl FnMut() -> bool, said: impl Fn() -> String) {
    let began = Instant::now();
    while !done() {
        assert!(began.elapsed() < PATIENCE, "{what}: {}", said());
        std::thread::sleep(Duration::from_millis(20));
    }
}

fn wait_for_rows(log: &Path, rows: usize) {
    let count = || fs::read_to_string(log).map_or(0, |text| text.lines().count().saturating_sub(1));
    wait_until("rows", || count() >= rows, || format!("{} of {rows}", count()));
}

/// The logger's part of each recorded row.
fn recorded(log: &Path) -> Vec<String> {
    let text = fs::read_to_string(log).expect("a log");
    assert!(text.ends_with('\n'), "whole lines");
    text.lines().skip(1).map(|line| line.split_once(',').expect("a time").1.to_owned() + "\n").collect()
}

#[test]
fn standard_input_is_recorded_and_read_by_bench_without_edits() {
    let scratch = Scratch::with_demo();
    let mut running = Running::start(scratch.path(), &[&["lamp", "evening", "--json"], &GIVEN[..]].concat());
    let rows: Vec<String> = (0..400).map(|s| row(s, 60.0 - 35.0 * (-f64::from(s) / 60.0).exp())).collect();
    let mut input = running.input();
    write!(input, "{HEADER}{}", rows.concat()).unwrap();
    drop(input);
    let (status, found) = running.end();
    assert_eq!(status, 0, "{found:#}");
    assert_eq!(found["samples_written"], 400);
    assert_eq!(recorded(&scratch.lamp().join("bench/evening.csv")), rows);
    // The plateau settles to 60 degC: what the samples were made of.
    let plateau = &found["plateaus"][0];
    let settled = plateau["settled_c"].as_f64().expect("settled");
    let drive_a = plateau["drive_current_a"].as_f64().unwrap();
    assert!((settled - 60.0).abs() < 0.2 && (drive_a - 0.7).abs() < 1e-9, "{plateau:#}");
    let read = scratch.run(&["bench", "lamp", "evening", "--json"]);
    assert_eq!(read.status, 0, "{}{}", read.out, read.err);
    let run = &read.json()["runs"][0];
    assert_eq!((run["rows"].as_u64(), run["variant"].as_str()), (Some(400), Some("plain")));
    assert_eq!((run["step_s"].as_f64(), run["start_is_utc"].as_bool()), (Some(1.0), Some(true)));
    let largest = run["channels"][0]["largest_c"].as_f64().unwrap();
    assert!((largest - 60.0).abs() < 0.1, "{run:#}");
}

#[test]
fn a_growing_file_is_followed_through_half_lines_loss_and_return() {
    let scratch = Scratch::with_demo();
    scratch.write("logger.csv", format!("{HEADER}{}", (0..5).map(|s| row(s, 30.0)).collect::<String>()));
    let words = [&["lamp", "grown", "--json", "--file", "logger.csv"], &GIVEN[..]].concat();
    let running = Running::start(scratch.path(), &words);
    let log = scratch.lamp().join("bench/grown.csv");
    wait_for_rows(&log, 5);
    let source = scratch.path().join("logger.csv");
    let add = |text: &str| {
        OpenOptions::new().append(true).open(&source).unwrap().write_all(text.as_bytes()).unwrap()
    };
    // A number cut within its digits must not become a sample.
    let whole = row(5, 31.5);
    let (first, second) = whole.split_at(6);
    add(first);
    std::thread::sleep(Duration::from_millis(400));
    assert_eq!(recorded(&log).len(), 5);
    add(second);
    wait_for_rows(&log, 6);
    assert_eq!(recorded(&log)[5], whole);
    fs::remove_file(&source).unwrap();
    running.wait_said("has gone");
    scratch.write("logger.csv", format!("{HEADER}{}", row(0, 29.0)));
    running.wait_said("is back");
    wait_for_rows(&log, 7);
    fs::write(&source, HEADER).unwrap();
    running.wait_said("has become shorter");
    add(&row(0, 28.0));
    wait_for_rows(&log, 8);
    running.interrupt();
    let (status, found) = running.end();
    assert_eq!((status, found["samples_written"].as_u64()), (0, Some(8)), "{found:#}");
    assert_eq!(found["ended_by"], "stopped from the keyboard");

    // Going on with the file records nothing twice.
    add(&row(1, 28.5));
    let again = Running::start(scratch.path(), &words);
    wait_for_rows(&log, 9);
    again.interrupt();
    let (_, found) = again.end();
    assert_eq!(
        (found["samples_written"].as_u64(), found["resumed"].as_bool()),
        (Some(1), Some(true)),
        "{found:#}"
    );
    assert_eq!(recorded(&log)[8], row(1, 28.5));
}

#[test]
fn a_serial_line_is_read_and_its_loss_is_told() {
    let scratch = Scratch::with_demo();
    let pair =
        openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC).expect("a pseudo-terminal");
    grantpt(&pair).unwrap();
    unlockpt(&pair).unwrap();
    let name = ptsname(&pair, Vec::new()).unwrap().into_string().unwrap();
    let words =
        [&["lamp", "line", "--json", "--serial", &name, "--baud", "9600", "--wait", "1 s"], &GIVEN[..]]
            .concat();
    let running = Running::start(scratch.path(), &words);
    running.wait_said("Never leave");
    let mut logger = File::from(pair);
    // The line begins within a row, as it does when it is plugged in.
    logger.write_all(format!("80,22.0,0.70\r\n{}", HEADER.replace('\n', "\r\n")).as_bytes()).unwrap();
    for second in 0..6 {
        logger.write_all(row(second, 40.0).replace('\n', "\r\n").as_bytes()).unwrap();
        std::thread::sleep(Duration::from_millis(30));
    }
    let log = scratch.lamp().join("bench/line.csv");
    wait_for_rows(&log, 6);
    drop(logger);
    running.wait_said("has gone");
    let (status, found) = running.end();
    assert_eq!((status, found["samples_written"].as_u64()), (0, Some(6)), "{found:#}");
    assert!(found["ended_by"].as_str().unwrap().contains("stayed away"), "{found:#}");
    assert_eq!(recorded(&log), (0..6).map(|s| row(s, 40.0)).collect::<Vec<_>>());
}

#[test]
fn a_killed_recording_loses_at_most_the_last_sample_and_goes_on() {
    let scratch = Scratch::with_demo();
    let words = [&["lamp", "killed", "--json"], &GIVEN[..]].concat();
    let mut running = Running::start(scratch.path(), &words);
    let mut input = running.input();
    let log = scratch.lamp().join("bench/killed.csv");
    input.write_all(HEADER.as_bytes()).unwrap();
    for second in 0..20 {
        input.write_all(row(second, 30.0).as_bytes()).unwrap();
        std::thread::sleep(Duration::from_millis(25));
    }
    // Whatever came a moment ago is in the file; only what comes now may be missing.
    wait_for_rows(&log, 19);
    running.child.kill().unwrap();
    running.child.wait().unwrap();
    let before = recorded(&log);
    assert!(before.len() >= 19, "{}", before.len());
    // As if it had been killed within a line.
    OpenOptions::new().append(true).open(&log).unwrap().write_all(b"2026-01-01T00:00:0").unwrap();
    let mut again = Running::start(scratch.path(), &words);
    let mut input = again.input();
    let rows: Vec<String> = (30..40).map(|s| row(s, 31.0)).collect();
    write!(input, "{HEADER}{}", rows.concat()).unwrap();
    drop(input);
    let (status, found) = again.end();
    assert_eq!((status, found["resumed"].as_bool(), found["cut_bytes"].as_u64()), (0, Some(true), Some(18)));
    assert!(found["gap_s"].as_f64().unwrap() >= 0.0, "{found:#}");
    assert_eq!(recorded(&log), [before, rows].concat());
    // Another logger's columns never get into it.
    let mut other = Running::start(scratch.path(), &words);
    let mut input = other.input();
    input.write_all(b"a (V),b (A)\n1,2\n3,4\n5,6\n7,8\n").unwrap();
    drop(input);
    let (status, found) = other.end();
    assert_eq!(status, 2, "{found:#}");
    assert!(found["remarks"][0]["text"].as_str().unwrap().contains("other columns"), "{found:#}");
}

/// A file system of its own that is soon full; only root may mount one.
struct SmallDisk(std::path::PathBuf);

impl SmallDisk {
    fn mount(place: &Path) -> Option<Self> {
        fs::create_dir_all(place).unwrap();
        let done = Command::new("mount").args(["-t", "tmpfs", "-o", "size=64k", "tmpfs"]).arg(place).status();
        done.is_ok_and(|status| status.success()).then(|| Self(place.to_path_buf()))
    }
}

impl Drop for SmallDisk {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg("-l").arg(&self.0).status();
    }
}

#[test]
fn a_full_disk_is_told_and_no_sample_is_lost_once_there_is_room() {
    let scratch = Scratch::with_demo();
    let bench = scratch.lamp().join("bench");
    fs::remove_dir_all(&bench).unwrap();
    let Some(_disk) = SmallDisk::mount(&bench) else {
        // Without a small disk the check says nothing, and says so.
        eprintln!(
            "SKIPPED: a small tmpfs can be mounted by root alone; the check of a full disk did not run"
        );
        assert!(!rustix::process::geteuid().is_root(), "root can mount, and mounting failed");
        return;
    };
    fs::write(bench.join("ballast"), vec![0; 40 << 10]).unwrap();
    let words = [&["lamp", "full", "--json"], &GIVEN[..]].concat();
    let mut running = Running::start(scratch.path(), &words);
    let mut input = running.input();
    let rows: Vec<String> = (0..2000).map(|s| row(s, 30.0)).collect();
    write!(input, "{HEADER}{}", rows.concat()).unwrap();
    input.flush().unwrap();
    running.wait_said("NOT WRITTEN");
    let log = bench.join("full.csv");
    let so_far = recorded(&log);
    assert!(so_far.len() < rows.len() && so_far == rows[..so_far.len()], "whole lines only");
    fs::remove_file(bench.join("ballast")).unwrap();
    // What fits now is written; the rest still waits, and its loss is told at the end.
    wait_until("more rows", || recorded(&log).len() > so_far.len(), || running.said());
    drop(input);
    let (status, found) = running.end();
    let written = recorded(&log);
    let lost = found["samples_lost"].as_u64().unwrap();
    assert_eq!(found["samples_written"].as_u64(), Some(written.len() as u64), "{found:#}");
    assert_eq!(written.len() as u64 + lost, 2000, "{found:#}");
    assert_eq!(written[..], rows[..written.len()]);
    assert_eq!(status, if lost > 0 { 3 } else { 0 });
}

#[test]
fn above_the_abort_point_it_says_so_and_ends_with_1() {
    let scratch = Scratch::with_demo();
    for (last_c, wanted) in [(90.0, 1), (80.0, 0)] {
        let run = format!("hot-{wanted}");
        let mut running = Running::start(scratch.path(), &[&["lamp", &run, "--json"], &GIVEN[..]].concat());
        let mut input = running.input();
        let rows: String = (0..20).map(|s| row(s, if s < 15 { 88.0 } else { last_c })).collect();
        write!(input, "{HEADER}{rows}").unwrap();
        drop(input);
        running.wait_said("BREAK OFF: the board sensor reads 88.0 degC, above 85 degC");
        let (status, found) = running.end();
        assert_eq!((status, found["ended_above_abort"].as_bool()), (wanted, Some(wanted == 1)), "{found:#}");
        assert_eq!(found["samples_above_abort"], if wanted == 1 { 20 } else { 15 });
    }
}

#[test]
fn nothing_is_written_outside_the_bench_folder() {
    let scratch = Scratch::with_demo();
    let before = scratch.files();
    for run in ["../x", "a/b", "..", "/x"] {
        let said = scratch.run(&["record", "lamp", run, "--variant", "plain"]);
        assert_eq!(said.status, 2, "{run}: {}", said.err);
    }
    assert_eq!(scratch.run(&["record", "lamp", "x"]).status, 2, "which variant");
    assert_eq!(before, scratch.files());
    let elsewhere = Scratch::new();
    fs::remove_dir_all(scratch.lamp().join("bench")).unwrap();
    std::os::unix::fs::symlink(elsewhere.path(), scratch.lamp().join("bench")).unwrap();
    let mut running = Running::start(scratch.path(), &[&["lamp", "x", "--json"], &GIVEN[..]].concat());
    let mut input = running.input();
    write!(input, "{HEADER}{}", (0..5).map(|s| row(s, 30.0)).collect::<String>()).unwrap();
    drop(input);
    assert_eq!(running.end().0, 2);
    assert!(elsewhere.files().is_empty());
}

/// Without a reading given, a recording watches the abort reading of the plan: the two commands say the same.
#[test]
fn the_abort_reading_is_that_of_the_plan() {
    let scratch = Scratch::with_demo();
    let plan = scratch.run(&["plan", "lamp", "--json", "--no-write"]);
    assert_eq!(plan.status, 0, "{}{}", plan.out, plan.err);
    let plan = plan.json();
    let planned = plan["variants"].as_array().unwrap().iter().find(|v| v["variant"] == "core").unwrap();
    let abort = &planned["abort"];

    let mut running = Running::start(scratch.path(), &["lamp", "x", "--variant", "core", "--json"]);
    let mut input = running.input();
    write!(input, "{HEADER}{}", (0..5).map(|s| row(s, 30.0)).collect::<String>()).unwrap();
    running.wait_said("Break off above");
    drop(input);
    let (status, said) = running.end();
    assert_eq!((status, said["abort"]["from"].as_str()), (0, Some("predicted")), "{said:#}");
    for key in ["above_c", "limit", "limit_c"] {
        assert_eq!(said["abort"][key], abort[key], "{key}: {said:#} {plan:#}");
    }
}
