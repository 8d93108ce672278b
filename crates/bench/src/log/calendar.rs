//! Days of the civil (proleptic Gregorian) calendar.

/// Days from 1970-01-01 to a date.
///
/// The year is counted from March, so that the leap day is its last; `153 m + 2 over 5` gives the days before month `m`
/// of such a year, and 400 years have 146097 days (Gregorian rules; arithmetic from memory).
#[must_use]
pub fn days_from_civil(year: i32, month: u32, day: u32) -> i64 {
    let year = i64::from(year) - i64::from(month <= 2);
    let era = year.div_euclid(400);
    let of_era = year.rem_euclid(400);
    let month_from_march = i64::from((month + 9) % 12);
    let of_year = (153 * month_from_march + 2) / 5 + i64::from(day) - 1;
    era * 146_097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719_468
}

/// The date of a day counted from 1970-01-01: year, month, day.
#[must_use]
pub fn civil_from_days(days: i64) -> (i64, u32, u32) {
    let days = days + 719_468;
    let era = days.div_euclid(146_097);
    let of_era = days.rem_euclid(146_097);
    let year_of_era = (of_era - of_era / 1460 + of_era / 36_524 - of_era / 146_096) / 365;
    let of_year = of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let month_from_march = (5 * of_year + 2) / 153;
    let day = of_year - (153 * month_from_march + 2) / 5 + 1;
    let month = if month_from_march < 10 { month_from_march + 3 } else { month_from_march - 9 };
    let year = year_of_era + era * 400 + i64::from(month <= 2);
    (year, u32::try_from(month).unwrap_or(1), u32::try_from(day).unwrap_or(1))
}

/// Whether there is such a day.
#[must_use]
pub fn is_date(year: i32, month: u32, day: u32) -> bool {
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    let last = match month {
        2 => 28 + u32::from(leap),
        4 | 6 | 9 | 11 => 30,
        1..=12 => 31,
        _ => return false,
    };
    (1..=9999).contains(&year) && (1..=last).contains(&day)
}

/// `2026-03-01 12:00:00` of seconds from 1970-01-01; tenths and finer only where there are any.
#[must_use]
pub fn written(seconds: f64) -> String {
    // Thousandths first, so that 59.9999 does not become 60.
    let thousandths = (seconds * 1e3).round();
    if thousandths.is_nan() || thousandths.abs() >= 2.5e14 {
        return "no date".to_owned();
    }
    #[expect(clippy::cast_possible_truncation, reason = "bounded in the lines above")]
    let thousandths = thousandths as i64;
    let (days, of_day) = (thousandths.div_euclid(86_400_000), thousandths.rem_euclid(86_400_000));
    let (year, month, day) = civil_from_days(days);
    let (seconds, fraction) = (of_day / 1000, of_day % 1000);
    let mut out = format!(
        "{year:04}-{month:02}-{day:02} {:02}:{:02}:{:02}",
        seconds / 3600,
        seconds / 60 % 60,
        seconds % 60
    );
    if fraction != 0 {
        out += format!(".{fraction:03}").trim_end_matches('0');
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the `jiff` library, every day of 800 years.
    #[test]
    fn days_are_those_of_another_calendar() {
        let mut date = jiff::civil::date(1600, 1, 1);
        let first = days_from_civil(1600, 1, 1);
        for step in 0..146_097 * 2 {
            let (year, month, day) = (i32::from(date.year()), date.month() as u32, date.day() as u32);
            assert_eq!(days_from_civil(year, month, day), first + step, "{date}");
            assert_eq!(civil_from_days(first + step), (i64::from(year), month, day));
            let next = date.tomorrow().unwrap();
            let ends = next.month() != date.month();
            assert!(is_date(year, month, day) && is_date(year, month, day + 1) != ends, "{date}");
            date = next;
        }
        assert_eq!(days_from_civil(1970, 1, 1), 0);
        assert!(
            !is_date(2026, 2, 29) && is_date(2024, 2, 29) && !is_date(2026, 13, 1) && !is_date(2026, 4, 31)
        );
    }

    #[test]
    fn seconds_are_written_as_a_stamp() {
        assert_eq!(written(0.0), "1970-01-01 00:00:00");
        assert_eq!(written(1_772_366_400.25), "2026-03-01 12:00:00.25");
        assert_eq!(written(-0.5), "1969-12-31 23:59:59.5");
        assert_eq!(written(59.9999), "1970-01-01 00:01:00");
    }
}
