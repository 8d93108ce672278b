//! Zones behind time stamps: offsets from UTC as numbers, and the abbreviations that loggers and spreadsheets write for them.

/// Abbreviations that stand for one offset wherever they are used, with it in minutes east of UTC. Source: the IANA time zone data,
/// present civil time; German names from memory.
const ONE_OFFSET: &[(&str, i32)] = &[
    ("UTC", 0),
    ("GMT", 0),
    ("UT", 0),
    ("WET", 0),
    ("WEST", 60),
    ("CET", 60),
    ("MEZ", 60),
    ("CEST", 120),
    ("MESZ", 120),
    ("EET", 120),
    ("EEST", 180),
    ("MSK", 180),
    ("SAST", 120),
    ("AWST", 480),
    ("ACST", 570),
    ("ACDT", 630),
    ("AEST", 600),
    ("AEDT", 660),
    ("NZST", 720),
    ("NZDT", 780),
    ("HKT", 480),
    ("JST", 540),
    ("KST", 540),
    ("AKST", -540),
    ("AKDT", -480),
    ("HST", -600),
];

/// Abbreviations that stand for several offsets, with some of those (from memory).
const SEVERAL_OFFSETS: &[(&str, &str)] = &[
    ("IST", "+05:30, +02:00 or +01:00"),
    ("BST", "+01:00 or +06:00"),
    ("CST", "-06:00, +08:00 or -05:00"),
    ("CDT", "-05:00 or -04:00"),
    ("EST", "-05:00 or +10:00"),
    ("EDT", "-04:00 or +11:00"),
    ("MST", "-07:00 or +08:00"),
    ("MDT", "-06:00"),
    ("PST", "-08:00 or +08:00"),
    ("PDT", "-07:00"),
    ("AST", "-04:00 or +03:00"),
    ("ADT", "-03:00 or +04:00"),
    ("SST", "-11:00 or +08:00"),
    ("WST", "+08:00 or +13:00"),
    ("GST", "+04:00 or -02:00"),
    ("ECT", "-05:00 or -04:00"),
    ("AMT", "-04:00 or +04:00"),
    ("MET", "+01:00"),
    ("MSD", "+04:00"),
    ("SGT", "+08:00"),
];

/// An abbreviation that does not tell its offset: an index of the table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct OpenZone(u8);

impl OpenZone {
    /// As written, in capitals.
    #[must_use]
    pub fn word(self) -> &'static str {
        SEVERAL_OFFSETS.get(usize::from(self.0)).map_or("", |(word, _)| word)
    }

    /// Offsets that it stands for, for messages.
    #[must_use]
    pub fn offsets(self) -> &'static str {
        SEVERAL_OFFSETS.get(usize::from(self.0)).map_or("", |(_, offsets)| offsets)
    }
}

/// A zone as written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Zone {
    /// Offset from UTC, s, written as a number.
    Number(i32),
    /// Offset from UTC, s, of a word.
    Word(i32),
    /// A word that stands for several offsets.
    Open(OpenZone),
}

/// Reads a zone: `Z`, `+01:00`, `+0100`, `+01`, `UTC`, `CET`, `UTC+1`, `GMT-05:30`, `IST`. A name in square brackets behind a number, as RFC
/// 9557 has it, is read past.
#[must_use]
pub fn zone(text: &[u8]) -> Option<Zone> {
    if let [b'Z' | b'z'] = text {
        return Some(Zone::Word(0));
    }
    if let Some((b'+' | b'-', _)) = text.split_first() {
        let end = text.iter().position(|b| *b == b'[').filter(|_| text.ends_with(b"]")).unwrap_or(text.len());
        return numeric(text.get(..end)?, false).map(Zone::Number);
    }
    let letters = text.iter().take_while(|b| b.is_ascii_alphabetic()).count();
    let (word, rest) = text.split_at(letters);
    let named = |known: &str| word.eq_ignore_ascii_case(known.as_bytes());
    if !rest.is_empty() {
        return if named("UTC") || named("GMT") { numeric(rest, true).map(Zone::Word) } else { None };
    }
    if let Some((_, minutes)) = ONE_OFFSET.iter().find(|(known, _)| named(known)) {
        return Some(Zone::Word(60 * minutes));
    }
    let at = SEVERAL_OFFSETS.iter().position(|(known, _)| named(known))?;
    Some(Zone::Open(OpenZone(u8::try_from(at).ok()?)))
}

/// Offset from UTC, s, where the text tells one: as [`zone`].
#[must_use]
pub fn offset(text: &[u8]) -> Option<i32> {
    match zone(text)? {
        Zone::Number(seconds) | Zone::Word(seconds) => Some(seconds),
        Zone::Open(_) => None,
    }
}

/// `+01:00`, `+0100`, `+01`; `+1` and `+1:00` only where `short`, behind a word.
fn numeric(text: &[u8], short: bool) -> Option<i32> {
    let (sign, rest) = match text.split_first()? {
        (b'+', rest) => (1, rest),
        (b'-', rest) => (-1, rest),
        _ => return None,
    };
    let (hours, minutes) = match rest {
        [h] if short => (digits(&[*h])?, 0),
        [h, b':', m1, m2] if short => (digits(&[*h])?, digits(&[*m1, *m2])?),
        [_, _] => (digits(rest)?, 0),
        [h1, h2, m1, m2] | [h1, h2, b':', m1, m2] => (digits(&[*h1, *h2])?, digits(&[*m1, *m2])?),
        _ => return None,
    };
    (hours <= 18 && minutes <= 59).then_some(sign * (hours * 3600 + minutes * 60))
}

fn digits(bytes: &[u8]) -> Option<i32> {
    bytes.iter().try_fold(0, |sum, b| b.is_ascii_digit().then(|| sum * 10 + i32::from(b - b'0')))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the time zone data itself, by the `jiff` library: in January and July of 2026 each of these places is at the offset that
    /// the abbreviation stands for, and the data call it so.
    #[test]
    fn words_stand_for_the_offsets_of_the_zone_data() {
        for (place, january, july) in [
            ("Europe/Berlin", "CET", "CEST"),
            ("Europe/Lisbon", "WET", "WEST"),
            ("Europe/Helsinki", "EET", "EEST"),
            ("Europe/Moscow", "MSK", "MSK"),
            ("Australia/Sydney", "AEDT", "AEST"),
            ("Australia/Adelaide", "ACDT", "ACST"),
            ("Australia/Perth", "AWST", "AWST"),
            ("Pacific/Auckland", "NZDT", "NZST"),
            ("Asia/Tokyo", "JST", "JST"),
            ("Asia/Seoul", "KST", "KST"),
            ("Asia/Hong_Kong", "HKT", "HKT"),
            ("Africa/Johannesburg", "SAST", "SAST"),
            ("Pacific/Honolulu", "HST", "HST"),
            ("America/Anchorage", "AKST", "AKDT"),
        ] {
            for (month, word) in [(1, january), (7, july)] {
                let there = jiff::civil::date(2026, month, 15).at(12, 0, 0, 0).in_tz(place).unwrap();
                assert_eq!(there.strftime("%Z").to_string(), word, "{place}");
                assert_eq!(offset(word.as_bytes()), Some(there.offset().seconds()), "{place}: {word}");
            }
        }
        // The same civil times in German.
        assert_eq!((offset(b"MEZ"), offset(b"mesz")), (offset(b"CET"), offset(b"CEST")));
    }

    #[test]
    fn a_word_of_several_offsets_tells_none() {
        let Some(Zone::Open(open)) = zone(b"ist") else { panic!("IST is India's, Israel's and Ireland's") };
        assert_eq!((open.word(), offset(b"IST")), ("IST", None));
        assert!(open.offsets().contains("+05:30"));
        for (word, _) in SEVERAL_OFFSETS {
            assert!(ONE_OFFSET.iter().all(|(other, _)| other != word), "{word}");
        }
    }

    #[test]
    fn numbers_with_and_without_a_word() {
        for (text, seconds) in [
            ("+01:00", Some(3600)),
            ("-0530", Some(-19_800)),
            ("+02", Some(7200)),
            ("UTC+1", Some(3600)),
            ("GMT-05:30", Some(-19_800)),
            ("utc+2:00", Some(7200)),
            ("+01:00[Europe/Berlin]", Some(3600)),
            ("+1", None),
            ("+19:00", None),
            ("CET+1", None),
            ("PM", None),
            ("there", None),
            ("", None),
        ] {
            assert_eq!(offset(text.as_bytes()), seconds, "{text}");
        }
    }
}
