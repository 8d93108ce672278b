//! Reads ten million rows of a log that is made on the way, and prints seconds, memory and the ratio to the `csv` library's plain
//! reading of the same bytes (fields split, nothing parsed): `cargo bench -p bench`. Fewer rows: `cargo bench -p bench -- 1000000`.

#![allow(clippy::unwrap_used, reason = "a measurement fails by panicking")]

use std::io::{self, Read};
use std::time::Instant;

use bench::log::{Told, open};
use bench::recording::{Recording, TimeRules};

/// A log of so many rows, made as it is read.
struct Made {
    rows: u64,
    next: u64,
    ready: Vec<u8>,
    at: usize,
}

const HEADER: &str = "time,T board (degC),current (A),voltage (V),fan (V)\n";
/// Two rows a second, from the first of January on.
const DAY_ROWS: u64 = 2 * 86_400;

impl Made {
    fn new(rows: u64) -> Self {
        Self { rows, next: 0, ready: HEADER.as_bytes().to_vec(), at: 0 }
    }

    /// Every row has the same length.
    fn size(rows: u64) -> u64 {
        let mut one = Vec::new();
        row(0, &mut one);
        HEADER.len() as u64 + rows * one.len() as u64
    }
}

/// So many digits of a number, and a mark behind.
fn digits(out: &mut Vec<u8>, number: u64, count: u32, mark: u8) {
    for place in (0..count).rev() {
        out.push(b'0' + (number / 10u64.pow(place) % 10) as u8);
    }
    out.push(mark);
}

/// Such as `2026-01-01 00:00:00.5,20.01,0.351,10.001,12.01`.
fn row(index: u64, out: &mut Vec<u8>) {
    let (day, half) = (index / DAY_ROWS, index % DAY_ROWS);
    let (month, day) = if day < 31 { (1, day + 1) } else { (2, day - 30) };
    let second = half / 2;
    for (number, count, mark) in [
        (2026, 4, b'-'),
        (month, 2, b'-'),
        (day, 2, b' '),
        (second / 3600, 2, b':'),
        (second / 60 % 60, 2, b':'),
        (second % 60, 2, b'.'),
        (5 * (half % 2), 1, b','),
        (20 + index / 100 % 60, 2, b'.'),
        (index % 100, 2, b','),
        (0, 1, b'.'),
        (350 + index % 7, 3, b','),
        (10, 2, b'.'),
        (index % 997, 3, b','),
        (12, 2, b'.'),
        (index % 10, 2, b'\n'),
    ] {
        digits(out, number, count, mark);
    }
}

impl Read for Made {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        if self.at == self.ready.len() {
            self.ready.clear();
            self.at = 0;
            while self.ready.len() < 1 << 16 && self.next < self.rows {
                row(self.next, &mut self.ready);
                self.next += 1;
            }
        }
        let count = into.len().min(self.ready.len() - self.at);
        into[..count].copy_from_slice(&self.ready[self.at..self.at + count]);
        self.at += count;
        Ok(count)
    }
}

/// Highest memory of this process so far, MB.
fn peak_mb() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with("VmHWM:")).unwrap_or_default().to_owned();
    line.split_whitespace().nth(1).and_then(|kb| kb.parse::<f64>().ok()).map_or(f64::NAN, |kb| kb / 1024.0)
}

/// Processor time of this process so far, s: what other programs do beside it does not count. By ticks of a hundredth of a
/// second, as Linux has them.
fn processor_s() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let after_name = stat.rsplit(')').next().unwrap_or_default();
    after_name.split_whitespace().skip(11).take(2).filter_map(|ticks| ticks.parse::<f64>().ok()).sum::<f64>()
        / 100.0
}

/// Seconds by the clock and of the processor.
fn seconds(work: impl FnOnce()) -> [f64; 2] {
    let (began, used) = (Instant::now(), processor_s());
    work();
    [began.elapsed().as_secs_f64(), processor_s() - used]
}

fn main() {
    let rows = std::env::args().skip(1).find_map(|word| word.parse().ok()).unwrap_or(10_000_000);
    let size = Made::size(rows);
    let making = seconds(|| {
        io::copy(&mut Made::new(rows), &mut io::sink()).unwrap();
    });
    let before_mb = peak_mb();
    let mut fields = 0usize;
    let plain = seconds(|| {
        let mut reader = csv::ReaderBuilder::new().from_reader(Made::new(rows));
        let mut record = csv::ByteRecord::new();
        while reader.read_byte_record(&mut record).unwrap() {
            fields += record.len();
        }
    });
    let mut recording = None;
    let ours = seconds(|| {
        let opened = open("made.csv", Made::new(rows), Some(size), &Told::default()).unwrap();
        let wanted = opened.all_columns();
        let log = opened.read(&wanted).unwrap();
        recording = Recording::of(log, TimeRules::default()).0;
    });
    let recording = recording.unwrap();
    assert_eq!((recording.rows() as u64, fields as u64), (rows, rows * 5));
    let drawing = seconds(|| {
        assert!(recording.thinned(0, 0.0, recording.span_s(), 1600).iter().any(Option::is_some));
    });
    // What making the bytes costs is taken off.
    let (ours, plain) = ([0, 1].map(|i| ours[i] - making[i]), [0, 1].map(|i| plain[i] - making[i]));
    println!("{rows} rows, 5 columns, {:.0} MB", size as f64 / 1e6);
    println!("read to a recording: {:.2} s, {:.2} s of the processor", ours[0], ours[1]);
    println!("csv library, fields only: {:.2} s of the processor; ratio {:.2}", plain[1], ours[1] / plain[1]);
    println!(
        "memory: peak {:.0} MB above {before_mb:.0} MB; the recording's numbers {:.0} MB",
        peak_mb() - before_mb,
        recording.bytes() as f64 / 1e6
    );
    println!("thinned to 1600 pixels: {:.3} s of the processor", drawing[1]);
}
