//! Dates and times of day as loggers write them. Which of two numbers is the day is left open here.

use super::calendar::{days_from_civil, is_date};
use super::number::trimmed;
use super::zone::{OpenZone, Zone, zone};

/// In which order the numbers of a date stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DateOrder {
    /// 31/12/2026
    DayFirst,
    /// 12/31/2026
    MonthFirst,
    /// 26-12-31; with years of two digits only.
    YearFirst,
}

impl DateOrder {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::DayFirst, Self::MonthFirst, Self::YearFirst];

    /// As written in a bench sheet.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::DayFirst => "day first",
            Self::MonthFirst => "month first",
            Self::YearFirst => "year first",
        }
    }
}

/// How a date is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DateForm {
    /// Year, month, day: 2026-03-01, 2026/3/1, 20260301.
    YearFirst,
    /// The month as a word: 1-Mar-2026, Mar 1 2026.
    MonthName,
    /// Two numbers and the year, with this between them: 01/03/2026, or 01/03/26 where the year may stand first as well.
    Open(u8),
}

/// A date as written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RawDate {
    /// How.
    pub form: DateForm,
    /// Year; of the last number where the order is open.
    pub year: i32,
    /// Whether the year has two digits.
    pub short: bool,
    /// The month, or the first number where the order is open.
    pub first: u8,
    /// The day, or the second number where the order is open.
    pub second: u8,
}

impl RawDate {
    /// Days from 1970-01-01 with this order; `None` where there is no such day.
    #[must_use]
    pub fn days(self, order: DateOrder) -> Option<i64> {
        let (first, second) = (u32::from(self.first), u32::from(self.second));
        let (year, month, day) = match (self.form, order) {
            (DateForm::Open(_), DateOrder::DayFirst) => (self.year, second, first),
            (DateForm::Open(_), DateOrder::YearFirst) => {
                let day = u32::try_from(self.year.rem_euclid(100)).ok().filter(|_| self.short)?;
                (full_year(first, 2)?, second, day)
            }
            _ => (self.year, first, second),
        };
        is_date(year, month, day).then(|| days_from_civil(year, month, day))
    }

    /// The orders with which it is a date.
    #[must_use]
    pub fn orders(self) -> Vec<DateOrder> {
        DateOrder::ALL.into_iter().filter(|order| self.days(*order).is_some()).collect()
    }

    /// As it was written, for messages.
    #[must_use]
    pub fn written(self) -> String {
        match self.form {
            DateForm::Open(mark) => {
                let (mark, year) =
                    (char::from(mark), if self.short { self.year.rem_euclid(100) } else { self.year });
                format!("{:02}{mark}{:02}{mark}{year:02}", self.first, self.second)
            }
            _ => format!("{}-{:02}-{:02}", self.year, self.first, self.second),
        }
    }
}

/// A stamp as written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RawStamp {
    /// The date, where there is one.
    pub date: Option<RawDate>,
    /// Seconds since midnight (or since a start), where there is a time of day.
    pub seconds: Option<f64>,
    /// Numbers of the time of day: 2 or 3.
    pub clock_parts: u8,
    /// Offset from UTC, s, where given.
    pub offset_s: Option<i32>,
    /// A zone that was named and does not tell its offset.
    pub open_zone: Option<OpenZone>,
}

impl RawStamp {
    const NOTHING: Self = Self { date: None, seconds: None, clock_parts: 0, offset_s: None, open_zone: None };
}

/// Reads a date, a time of day, or both; nothing else may stand in the cell.
#[must_use]
pub fn stamp(bytes: &[u8]) -> Option<RawStamp> {
    let bytes = trimmed(bytes);
    // A stamp begins with a digit, or with a letter of a month.
    if bytes.len() < 4 || bytes.len() > 48 {
        return None;
    }
    let mut stamp = RawStamp::NOTHING;
    let mut rest = bytes;
    if let Some((days, clock)) = days_before(bytes) {
        let (seconds, _, after) = clock_of(clock, false).filter(|(seconds, ..)| *seconds < 90_000.0)?;
        let clock_parts = 3;
        let seconds = Some(f64::from(days) * 86_400.0 + seconds);
        return after.is_empty().then_some(RawStamp { seconds, clock_parts, ..stamp });
    }
    if let Some((date, after)) = date(bytes) {
        stamp.date = Some(date);
        rest = match after.split_first() {
            None => return Some(stamp),
            Some((b'T' | b't' | b' ' | b'_' | b',', more)) => trimmed(more),
            Some(_) => return None,
        };
        if rest.is_empty() {
            return None;
        }
    }
    with_clock(stamp, rest)
}

/// The time of day behind a date, or alone.
fn with_clock(mut stamp: RawStamp, rest: &[u8]) -> Option<RawStamp> {
    let compact = stamp.date.is_some_and(|date| date.form == DateForm::YearFirst);
    let (seconds, parts, after) = clock_of(rest, compact)?;
    stamp.seconds = Some(seconds);
    stamp.clock_parts = parts;
    let after = trimmed(after);
    if after.is_empty() {
        return Some(stamp);
    }
    let end = after.iter().position(|b| *b == b' ').unwrap_or(after.len());
    let (word, behind) = after.split_at(end);
    let behind = match half_day(word, seconds) {
        Some(of_day) => {
            stamp.seconds = Some(of_day);
            trimmed(behind)
        }
        None => after,
    };
    if behind.is_empty() {
        return Some(stamp);
    }
    match zone(behind)? {
        // Behind a time of day alone a sign may mean anything.
        Zone::Number(seconds) => stamp.offset_s = stamp.date.is_some().then_some(Some(seconds))?,
        Zone::Word(seconds) => stamp.offset_s = Some(seconds),
        Zone::Open(open) => stamp.open_zone = Some(open),
    }
    Some(stamp)
}

/// Days of a duration with its days written out, and the rest: `0 days 00:05:00`, `1 day, 2:00:00`, `3d 04:00:00`; `-1 days +23:59:58`,
/// where the time of day is counted forward from the days, is before the start.
fn days_before(bytes: &[u8]) -> Option<(i32, &[u8])> {
    const WORDS: [&str; 6] = ["d", "day", "days", "tag", "tage", "t"];
    let positive = bytes.strip_prefix(b"-").unwrap_or(bytes);
    let (days, count, rest) = leading(positive);
    let rest = trimmed(rest);
    let letters = rest.iter().take_while(|b| b.is_ascii_alphabetic()).count();
    let (word, rest) = rest.split_at(letters);
    let named = WORDS.iter().any(|known| word.eq_ignore_ascii_case(known.as_bytes()));
    if !(1..=5).contains(&count) || !named {
        return None;
    }
    let rest = trimmed(rest.strip_prefix(b",").unwrap_or(rest));
    let rest = rest.strip_prefix(b"+").unwrap_or(rest);
    let days = i32::try_from(days).ok()?;
    Some((if positive.len() < bytes.len() { -days } else { days }, rest))
}

/// Reads stamps one after the other; most have the date of the one before, which is then not read again.
#[derive(Debug, Clone, Copy, Default)]
pub struct StampReader {
    text: [u8; 10],
    date: Option<RawDate>,
}

impl StampReader {
    /// As [`stamp`].
    pub fn read(&mut self, bytes: &[u8]) -> Option<RawStamp> {
        let bytes = trimmed(bytes);
        let parts =
            bytes.split_first_chunk::<10>().filter(|(_, rest)| matches!(rest.first(), Some(b' ' | b'T')));
        let Some((text, rest)) = parts else { return stamp(bytes) };
        if let Some(date) = self.date
            && *text == self.text
        {
            let dated = RawStamp { date: Some(date), ..RawStamp::NOTHING };
            return with_clock(dated, trimmed(rest.get(1..)?));
        }
        let found = stamp(bytes)?;
        // A date without blanks ends where the first blank stands.
        if !text.contains(&b' ') {
            (self.text, self.date) = (*text, found.date);
        }
        Some(found)
    }
}

/// Seconds of a 12-hour time with its AM or PM.
fn half_day(word: &[u8], seconds: f64) -> Option<f64> {
    let morning = [&b"AM"[..], b"A.M."].iter().any(|known| word.eq_ignore_ascii_case(known));
    let evening = [&b"PM"[..], b"P.M."].iter().any(|known| word.eq_ignore_ascii_case(known));
    if !(morning || evening) || !(3600.0..46_800.0).contains(&seconds) {
        return None;
    }
    let noon = 43_200.0;
    let of_half = if seconds >= noon { seconds - noon } else { seconds };
    Some(if evening { of_half + noon } else { of_half })
}

fn is_separator(b: u8) -> bool {
    matches!(b, b'-' | b'/' | b'.')
}

fn date(bytes: &[u8]) -> Option<(RawDate, &[u8])> {
    let (number, count, rest) = leading(bytes);
    let made = |form, (year, short): (i32, bool), first: u32, second: u32, rest| {
        let (first, second) = (u8::try_from(first).ok()?, u8::try_from(second).ok()?);
        let date = RawDate { form, year, short, first, second };
        let possible = DateOrder::ALL.into_iter().any(|order| date.days(order).is_some());
        possible.then_some((date, rest))
    };
    match (count, rest.first().copied()) {
        (4, Some(separator)) if is_separator(separator) => {
            let (month, day, rest) = two(rest, separator)?;
            made(DateForm::YearFirst, (i32::try_from(number).ok()?, false), month, day, rest)
        }
        (8, None | Some(b'T' | b't' | b' ' | b'_')) => {
            let (year, month, day) = (number / 10_000, number / 100 % 100, number % 100);
            if !(1900..2200).contains(&year) {
                return None;
            }
            made(DateForm::YearFirst, (i32::try_from(year).ok()?, false), month, day, rest)
        }
        (1 | 2, Some(separator)) if is_separator(separator) || separator == b' ' => {
            let after = rest.get(1..)?;
            if let Some((month, after)) = month_name(after) {
                let after = after.strip_prefix(&[separator]).or(after.strip_prefix(b". "))?;
                let (year, digits, after) = leading(after);
                return made(
                    DateForm::MonthName,
                    (full_year(year, digits)?, digits == 2),
                    month,
                    number,
                    after,
                );
            }
            if separator == b' ' {
                return None;
            }
            let (second, digits, after) = leading(after);
            let after = after.strip_prefix(&[separator]).filter(|_| (1..=2).contains(&digits))?;
            let (year, digits, after) = leading(after);
            made(DateForm::Open(separator), (full_year(year, digits)?, digits == 2), number, second, after)
        }
        (0, Some(letter)) if letter.is_ascii_alphabetic() => {
            let (month, after) = month_name(bytes)?;
            let (day, digits, after) = leading(after.get(1..)?);
            if !(1..=2).contains(&digits) {
                return None;
            }
            let after = after.strip_prefix(b", ").or(after.strip_prefix(b" ")).or(after.strip_prefix(b"-"))?;
            let (year, digits, after) = leading(after);
            made(DateForm::MonthName, (full_year(year, digits)?, digits == 2), month, day, after)
        }
        _ => None,
    }
}

/// Separator, number, separator, number.
fn two(bytes: &[u8], separator: u8) -> Option<(u32, u32, &[u8])> {
    let (first, digits, rest) = leading(bytes.strip_prefix(&[separator])?);
    let rest = rest.strip_prefix(&[separator]).filter(|_| (1..=2).contains(&digits))?;
    let (second, digits, rest) = leading(rest);
    (1..=2).contains(&digits).then_some((first, second, rest))
}

/// A year of four digits, or of two from 1970 to 2069.
fn full_year(year: u32, digits: usize) -> Option<i32> {
    let year = match digits {
        4 => year,
        2 => year + if year < 70 { 2000 } else { 1900 },
        _ => return None,
    };
    i32::try_from(year).ok()
}

/// English names, whole or by three letters.
fn month_name(bytes: &[u8]) -> Option<(u32, &[u8])> {
    const NAMES: [&str; 12] = [
        "january",
        "february",
        "march",
        "april",
        "may",
        "june",
        "july",
        "august",
        "september",
        "october",
        "november",
        "december",
    ];
    let end = bytes.iter().position(|b| !b.is_ascii_alphabetic()).unwrap_or(bytes.len());
    let (word, rest) = bytes.split_at(end);
    if word.len() < 3 {
        return None;
    }
    let at = NAMES.iter().position(|name| {
        let name = name.as_bytes();
        let short = word.len() == 3 || word.len() == 4 && word.eq_ignore_ascii_case(b"sept");
        name.get(..word.len())
            .is_some_and(|begin| begin.eq_ignore_ascii_case(word) && (short || word.len() == name.len()))
    })?;
    Some((u32::try_from(at).ok()? + 1, rest))
}

/// Seconds, count of parts, rest: `h:mm`, `h:mm:ss`, `h:mm:ss.f` or `h:mm:ss,f`; `hhmmss` where `compact` is allowed.
fn clock_of(bytes: &[u8], compact: bool) -> Option<(f64, u8, &[u8])> {
    let (hours, count, rest) = leading(bytes);
    if compact && matches!(count, 4 | 6) && rest.first() != Some(&b':') {
        let (hhmm, seconds) = if count == 6 { (hours / 100, hours % 100) } else { (hours, 0) };
        let (hours, minutes) = (hhmm / 100, hhmm % 100);
        if hours > 24 || minutes > 59 || seconds > 60 {
            return None;
        }
        let (fraction, rest) = if count == 6 { fraction(rest) } else { (0.0, rest) };
        return Some((f64::from(hours * 3600 + minutes * 60 + seconds) + fraction, 3, rest));
    }
    if !(1..=4).contains(&count) {
        return None;
    }
    let (minutes, digits, rest) = leading(rest.strip_prefix(b":")?);
    if digits != 2 || minutes > 59 {
        return None;
    }
    let Some(after) = rest.strip_prefix(b":") else {
        let (fraction, rest) = fraction(rest);
        // `mm:ss.f` has a fraction of its last part; `hh:mm` has none. Both are read as hours here.
        return Some((f64::from(hours * 3600 + minutes * 60) + fraction * 60.0, 2, rest));
    };
    let (seconds, digits, rest) = leading(after);
    if digits != 2 || seconds > 60 {
        return None;
    }
    // Some write the milliseconds behind a further colon.
    let rest_of = rest.strip_prefix(b":").filter(|more| leading(more).1 == 3);
    let (fraction, rest) = match rest_of {
        Some(more) => {
            let (thousandths, _, rest) = leading(more);
            (f64::from(thousandths) / 1e3, rest)
        }
        None => fraction(rest),
    };
    Some((f64::from(hours * 3600 + minutes * 60 + seconds) + fraction, 3, rest))
}

/// A decimal fraction with either mark, and the rest.
fn fraction(bytes: &[u8]) -> (f64, &[u8]) {
    const TENTHS: [f64; 10] = [1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9];
    let Some((b'.' | b',', after)) = bytes.split_first() else { return (0.0, bytes) };
    let count = after.iter().take_while(|b| b.is_ascii_digit()).count();
    // Finer than a nanosecond is nothing.
    let kept = after.get(..count.min(9)).unwrap_or_default();
    let whole = kept.iter().fold(0u32, |sum, b| sum * 10 + u32::from(b - b'0'));
    let scale = TENTHS.get(kept.len()).copied().unwrap_or(1.0);
    (f64::from(whole) / scale, after.get(count..).unwrap_or_default())
}

/// The leading number (nine digits at most), its digits, and the rest.
fn leading(bytes: &[u8]) -> (u32, usize, &[u8]) {
    let mut number = 0u32;
    let mut count = 0;
    for b in bytes {
        if !b.is_ascii_digit() || count == 9 {
            break;
        }
        number = number * 10 + u32::from(b - b'0');
        count += 1;
    }
    (number, count, bytes.get(count..).unwrap_or_default())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    /// Seconds since 1970, UTC where an offset is given.
    fn seconds(text: &str, order: DateOrder) -> Option<f64> {
        let stamp = stamp(text.as_bytes())?;
        let date = stamp.date?;
        let days = date.days(order)? as f64;
        Some(days * 86_400.0 + stamp.seconds? - f64::from(stamp.offset_s.unwrap_or(0)))
    }

    #[test]
    fn the_same_instant_in_many_hands() {
        // 2026-03-01 14:05:06 by `date -u +%s`.
        let instant = 1_772_373_906.0;
        for text in [
            "2026-03-01 14:05:06",
            "2026-03-01T14:05:06",
            "2026/3/1 14:05:06",
            "2026.03.01 14:05:06",
            "20260301T140506",
            "20260301 14:05:06",
            "01.03.2026 14:05:06",
            "1/3/2026 2:05:06 PM",
            "01-03-26 14:05:06",
            "1-Mar-2026 14:05:06",
            "01 March 2026 14:05:06",
            "Mar 1 2026 14:05:06",
            "March 1, 2026 02:05:06 pm",
            "01/03/2026, 14:05:06",
            "2026-03-01T14:05:06Z",
            "2026-03-01T15:05:06+01:00",
            "2026-03-01 08:35:06-0530",
            "2026-03-01 14:05:06 UTC",
            "2026-03-01 14:05:06.000",
            "2026-03-01 14:05:06 GMT",
            "2026-03-01 15:05:06 CET",
            "01.03.2026 15:05:06 MEZ",
            "2026-03-01 16:05:06 CEST",
            "1/3/2026 3:05:06 PM CET",
            "2026-03-01T15:05:06+01:00[Europe/Berlin]",
            "2026-03-01 15:05:06 UTC+1",
        ] {
            assert_eq!(seconds(text, DateOrder::DayFirst), Some(instant), "{text}");
        }
        assert_eq!(seconds("3/1/2026 14:05:06", DateOrder::MonthFirst), Some(instant));
        assert_eq!(seconds("26-03-01 14:05:06", DateOrder::YearFirst), Some(instant));
        assert_eq!(seconds("1/3/2026 14:05:06", DateOrder::YearFirst), None);
        for fraction in ["2026-03-01 14:05:06.25", "2026-03-01 14:05:06,25", "2026-03-01 14:05:06:250"] {
            assert_eq!(seconds(fraction, DateOrder::DayFirst), Some(instant + 0.25), "{fraction}");
        }
    }

    #[test]
    fn durations_with_their_days_and_zones_that_leave_it_open() {
        for (text, seconds) in [
            ("0 days 00:05:00", 300.0),
            ("1 day, 2:00:00.5", 93_600.5),
            ("2d 00:00:01", 172_801.0),
            ("3 Tage 04:00:00", 273_600.0),
            ("-1 days +23:59:58", -2.0),
            ("0 days 00:05", 300.0),
        ] {
            let read = stamp(text.as_bytes()).unwrap();
            assert_eq!((read.seconds, read.clock_parts, read.date), (Some(seconds), 3, None), "{text}");
        }
        for text in ["0 days", "days 00:05:00", "1 days 30:00:00", "1 t", "0 days 00:05:00 Z", "1 V 00:05:00"]
        {
            assert_eq!(stamp(text.as_bytes()), None, "{text}");
        }
        let open = stamp(b"2026-03-01 14:05:06 EST").unwrap();
        assert_eq!((open.offset_s, open.open_zone.map(OpenZone::word)), (None, Some("EST")));
        assert_eq!(stamp(b"14:05:06 CET").unwrap().offset_s, Some(3600));
    }

    #[test]
    fn parts_alone_and_what_is_none() {
        let alone = |text: &str| stamp(text.as_bytes());
        assert_eq!(alone("01.03.2026").and_then(|s| s.seconds), None);
        assert_eq!(alone("100:00:01").and_then(|s| s.seconds), Some(360_001.0));
        assert_eq!(alone("12:30").map(|s| s.clock_parts), Some(2));
        assert_eq!(alone("12:00:00 AM").and_then(|s| s.seconds), Some(0.0));
        assert_eq!(alone("12:30:00 PM").and_then(|s| s.seconds), Some(45_000.0));
        for text in [
            "",
            "12",
            "23.5",
            "1.2.3",
            "2026-13-01",
            "31/02/2026",
            "32/13/2026",
            "2026-03-01 25",
            "2026-03-01 12:60:00",
            "12:30:00+01:00",
            "2026-03-01X12:00:00",
            "2026-03-01 12:00:00 there",
            "14:05:06 PM",
            "Mars 1 2026",
            "20261301T000000",
        ] {
            assert_eq!(alone(text), None, "{text}");
        }
    }

    proptest! {
        /// Against the `jiff` library: ISO 8601 stamps with and without fraction and offset.
        #[test]
        fn iso_stamps_are_those_of_another_reader(
            second in -2_000_000_000i64..4_000_000_000, nanos in 0i32..1_000_000_000, quarters in -48i32..=56, zoned: bool
        ) {
            let instant = jiff::Timestamp::new(second, nanos).unwrap_or(jiff::Timestamp::UNIX_EPOCH);
            let offset = jiff::tz::Offset::from_seconds(quarters * 900).unwrap();
            let text = if zoned { instant.display_with_offset(offset).to_string() } else { instant.to_string() };
            let ours = seconds(&text, DateOrder::DayFirst).unwrap();
            prop_assert!((ours - instant.as_duration().as_secs_f64()).abs() < 1e-6, "{}: {}", text, ours);
        }

        /// One after the other as each alone.
        #[test]
        fn a_kept_date_changes_nothing(texts in proptest::collection::vec("(2026-03-0[12]|0[12]/03/2026|1 Mar 2026)[ T]?(1[0-3]:0[0-3]:0[0-9]|)[ Z]?", 1..20)) {
            let mut reader = StampReader::default();
            for text in texts {
                prop_assert_eq!(reader.read(text.as_bytes()), stamp(text.as_bytes()), "{}", text);
            }
        }

        #[test]
        fn no_bytes_make_it_panic(bytes in proptest::collection::vec(any::<u8>(), 0..60), likely in "[0-9:./, TZ+AaMmrPpdysCE-]{0,30}") {
            let _ = (stamp(&bytes), stamp(likely.as_bytes()));
        }
    }
}
