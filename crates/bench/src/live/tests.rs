//! Lines to rows, rows to plateaus; and that no bytes on the line do harm.

use proptest::prelude::*;

use super::form::{FirstLines, Form};
use super::lines::{HeldLine, MAX_LINE_BYTES};
use super::reading::Reading;
use super::watch::Watch;
use crate::log::Told;

fn lines(bytes: &[u8], cut: usize) -> Vec<Vec<u8>> {
    let (mut held, mut out) = (HeldLine::default(), Vec::new());
    for piece in bytes.chunks(cut.max(1)) {
        held.take(piece, |line| out.push(line.to_vec()));
    }
    out
}

fn form(text: &str) -> Form {
    let mut first = FirstLines::new(Told::default());
    for line in lines(text.as_bytes(), 7) {
        first.push(&line, 1e9);
    }
    first.form(true).expect("a form")
}

#[test]
fn a_line_is_handed_on_once_its_end_has_come() {
    for cut in [1, 2, 5, 100] {
        assert_eq!(lines(b"a,1\r\nb,2\n\nc,", cut), [b"a,1".to_vec(), b"b,2".to_vec()], "{cut}");
    }
    let mut long = vec![b'x'; 3 * MAX_LINE_BYTES];
    long.extend_from_slice(b"\nafter\n");
    assert_eq!(lines(&long, 1000), [b"after".to_vec()]);
}

/// By hand: decimal commas become points, nothing else of a cell is changed.
#[test]
fn rows_are_plain_csv_with_their_time_first() {
    let mut found =
        form("zeit;U1 (V);I (A)\n2026-03-01 12:00:00;0,7500;1,05\n2026-03-01 12:00:01;0,7504;1,05\n");
    assert_eq!(found.header(), "sample time,zeit,U1 (V),I (A)\n");
    let row = found.row(b"2026-03-01 12:00:02;0,7510;1,05", 5.0).expect("a row");
    assert_eq!(row.text, "2026-03-01T12:00:02,2026-03-01 12:00:02,0.7510,1.05\n");
    assert_eq!(row.values[1..], [0.751, 1.05]);
    for none in ["zeit;U1 (V);I (A)", "2026-03-01 12:00:02;0,75", "rubbish", ";;", "2026-03-01 12:00:02;a;b"]
    {
        assert!(found.row(none.as_bytes(), 5.0).is_none(), "{none}");
    }
}

/// A count keeps the logger's own spacing, whenever its rows come; one that falls back goes on from when its row came.
#[test]
fn a_count_is_placed_by_its_first_row_and_keeps_its_spacing() {
    let mut found = form("t (s),U (V)\n0,1.0\n1,1.1\n2,1.2\n");
    let mut at =
        |line: &str, received: f64| found.row(line.as_bytes(), received).expect("a row").time.seconds;
    assert!((at("10,1.0", 1000.0) - 1000.0).abs() < 1e-9);
    assert!((at("11,1.0", 1000.2) - 1001.0).abs() < 1e-9);
    assert!((at("13,1.0", 1009.0) - 1003.0).abs() < 1e-9);
    assert!((at("0,1.0", 1100.0) - 1100.0).abs() < 1e-9);
    assert_eq!(found.clock.restarts, 1);
}

fn reading(time_s: f64, sensor_c: f64, drive_a: f64) -> Reading {
    Reading { time_s, sensor_c, ambient_c: 20.0, drive_a }
}

/// Two currents, one time constant of 60 s, made here by the exact exponential; the second settles to 70 degC.
#[test]
fn plateaus_are_counted_by_the_current_and_the_running_one_settles_where_it_was_made_to() {
    let mut watch = Watch::default();
    let mut state = None;
    for second in 0..700 {
        let s = f64::from(second);
        let (board, drive) = match second {
            0..100 => (20.0, 0.0),
            100..400 => (50.0 - 30.0 * (-(s - 100.0) / 60.0).exp(), 0.7),
            _ => (70.0 - 20.2 * (-(s - 400.0) / 60.0).exp(), 1.05),
        };
        // A tenth of a kelvin to and fro, and a single reading beside the current.
        let wobble = 0.05 * (s * 2.4).sin();
        let spike = if second == 500 { 0.3 } else { 0.0 };
        state = watch.take(reading(s, board + wobble, drive + spike));
        if second == 50 {
            assert_eq!(state.expect("a state").plateau, 0, "the lamp is off");
        }
    }
    let state = state.expect("a state");
    assert_eq!((state.plateau, watch.plateaus), (2, 2));
    assert!((state.drive_a - 1.05).abs() < 1e-9 && (state.began_s - 400.0).abs() < 1e-9, "{state:?}");
    let found = watch.window().expect("a window").outlook(0.1).expect("an outlook");
    assert!(
        (found.settled_c - 70.0).abs() < 0.2 && found.interval_c[0] < 70.0 && found.interval_c[1] > 70.0,
        "{found:?}"
    );
    // At 300 s what is left is 20.2 exp(-5) = 0.14 K: 60 s ln(1.36) more.
    assert!(found.minutes_more < 1.0, "{found:?}");
    // Time that does not go on is counted and changes nothing.
    assert!(watch.take(reading(698.0, 0.0, 0.0)).is_none() && watch.out_of_order == 1);
}

/// The slope of a straight line is its own.
#[test]
fn the_slope_is_that_of_the_last_minute() {
    let mut watch = Watch::default();
    let last = (0..300).filter_map(|k| watch.take(reading(f64::from(k), 0.05 * f64::from(k), 1.0))).last();
    assert!((last.expect("a state").slope_k_per_min - 3.0).abs() < 1e-6);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// No bytes panic, and whatever becomes a row is one line of the header's number of cells.
    #[test]
    fn no_bytes_on_the_line_do_harm(
        soup in prop::collection::vec(prop_oneof![
            prop::sample::select(b"0123456789.,;\t-+eE:/ \r\n\"".to_vec()), any::<u8>()], 0..600),
        cut in 1usize..50,
    ) {
        let mut bytes = b"t (s),U (V),I (A)\n0,1.0,2\n1,1.1,2\n2,1.2,2\n".to_vec();
        bytes.extend_from_slice(&soup);
        let mut alone = FirstLines::new(Told::default());
        for line in lines(&soup, cut) {
            alone.push(&line, 7.0);
        }
        let _ = alone.form(true);
        let mut known = form("t (s),U (V),I (A)\n0,1.0,2\n1,1.1,2\n2,1.2,2\n");
        let mut watch = Watch::default();
        for line in lines(&bytes, cut) {
            let Some(row) = known.row(&line, 7.0) else { continue };
            prop_assert_eq!(row.text.matches('\n').count(), 1);
            prop_assert!(!row.text.contains('\r'));
            prop_assert_eq!(row.values.len(), 3);
            let _ = watch.take(reading(row.time.seconds, row.values[1], row.values[2]));
        }
    }
}
