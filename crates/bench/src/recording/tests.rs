//! Joining, thinning, statistics.

use super::{Recording, Start, TimeRules, join};
use crate::log::{Told, open};

fn recorded(text: &str) -> Recording {
    let opened = open("log.csv", text.as_bytes(), None, &Told::default()).unwrap();
    let wanted = opened.all_columns();
    Recording::of(opened.read(&wanted).unwrap(), TimeRules::default()).0.unwrap()
}

fn dated(hour: u32, channel: &str) -> Recording {
    let rows: String =
        (0..30).map(|row| format!("2026-03-01 {hour:02}:00:{row:02},{}\n", 25 + row)).collect();
    recorded(&format!("time,{channel}\n{rows}"))
}

#[test]
fn files_are_joined_by_their_starts() {
    let parts = vec![("b".to_owned(), dated(11, "T (degC)")), ("a".to_owned(), dated(10, "T (degC)"))];
    let (whole, remarks) = join(parts);
    let whole = whole.unwrap();
    assert!(remarks.is_empty(), "{remarks:?}");
    assert_eq!((whole.rows(), whole.span_s()), (60, 3629.0));
    // 2026-03-01 10:00:00, by `date -u +%s`.
    assert_eq!(whole.start, Some(Start { seconds: 1_772_359_200.0, utc: false }));
    assert_eq!(whole.marks.gap.iter().collect::<Vec<_>>(), [30]);
}

#[test]
fn a_channel_that_one_file_lacks_is_missing_there() {
    let (whole, _) =
        join(vec![("a".to_owned(), dated(10, "T (degC)")), ("b".to_owned(), dated(11, "I (A)"))]);
    let whole = whole.unwrap();
    assert_eq!(whole.channel("T").unwrap().statistics().missing, 30);
    assert_eq!(whole.channel("I").unwrap().statistics().missing, 30);
    assert!(
        whole.channel("I").unwrap().values[29].is_nan() && whole.channel("I").unwrap().values[30] == 25.0
    );
}

#[test]
fn without_starts_files_stand_behind_each_other_and_that_is_told() {
    let elapsed = || recorded("t (s),T (degC)\n0,25\n1,26\n2,27\n3,28\n");
    let (whole, remarks) = join(vec![("a".to_owned(), elapsed()), ("b".to_owned(), elapsed())]);
    let whole = whole.unwrap();
    assert_eq!(whole.times_s, [0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0]);
    assert_eq!(whole.marks.gap.iter().collect::<Vec<_>>(), [4]);
    assert!(remarks.iter().any(|remark| remark.text.contains("right behind")), "{remarks:?}");
    // Files of the same time: the rows of the later one are not used twice.
    let (twice, remarks) =
        join(vec![("a".to_owned(), dated(10, "T (degC)")), ("b".to_owned(), dated(10, "T (degC)"))]);
    assert_eq!(twice.unwrap().rising().0.len(), 30);
    assert!(remarks.iter().any(|remark| remark.text.contains("begins")), "{remarks:?}");
}

#[test]
fn thinning_loses_no_spike() {
    let mut recording = Recording { times_s: (0..100_000).map(f64::from).collect(), ..Recording::default() };
    let mut values: Vec<f64> = (0..100_000).map(|row| f64::from(row) * 1e-3).collect();
    (values[54_321], values[54_322]) = (1e6, f64::NAN);
    recording.channels.push(super::Channel {
        name: "x".to_owned(),
        unit: None,
        values: values.clone(),
        saturated: crate::log::Runs::default(),
    });
    let pixels = recording.thinned(0, 0.0, 99_999.0, 700);
    assert_eq!(pixels.len(), 700);
    let largest = pixels.iter().flatten().map(|pixel| pixel.largest).fold(0.0, f64::max);
    assert_eq!(largest, 1e6);
    // By hand: a pixel holds its own stretch and nothing else.
    let pixel = pixels[100].unwrap();
    let width = 99_999.0 / 700.0;
    let inside: Vec<f64> = (0..100_000)
        .filter(|row| (100.0 * width..101.0 * width).contains(&f64::from(*row)))
        .map(|row| values[row as usize])
        .collect();
    assert_eq!((pixel.first, pixel.last), (inside[0], *inside.last().unwrap()));
    assert_eq!((pixel.least, pixel.largest), (inside[0], *inside.last().unwrap()));
    assert!(recording.thinned(0, 5.0, 5.0, 10).iter().all(Option::is_none));
    assert_eq!(recording.thinned(0, 200_000.0, 300_000.0, 10), vec![None; 10]);
}

/// Mean 5 and sample variance 32/7 of 2, 4, 4, 4, 5, 5, 7, 9, by hand.
#[test]
fn statistics_by_hand() {
    let rows: String =
        [2, 4, 4, 4, 5, 5, 7, 9].iter().enumerate().map(|(t, v)| format!("{t},{v}\n")).collect();
    let found = recorded(&format!("t (s),x\n{rows}8,\n9,OL\n")).channels[0].statistics();
    assert_eq!((found.values, found.missing, found.saturated), (8, 1, 1));
    assert_eq!((found.least, found.largest), (Some(2.0), Some(9.0)));
    assert!(
        (found.mean.unwrap() - 5.0).abs() < 1e-12
            && (found.deviation.unwrap() - (32.0f64 / 7.0).sqrt()).abs() < 1e-12
    );
}

#[test]
fn memory_is_eight_bytes_a_number() {
    let rows: String = (0..5000).map(|row| format!("{row},25.5,0.35\n")).collect();
    let recording = recorded(&format!("t (s),T (degC),I (A)\n{rows}"));
    let exact = 5000 * 3 * 8;
    assert!(recording.bytes() >= exact && recording.bytes() < 2 * exact, "{}", recording.bytes());
}
