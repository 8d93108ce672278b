//! Finds the digit format a drill file does not declare: by how many of its holes land on copper.

use super::FormatSource;
use super::command::{Command, Placed};
use super::landing::Landing;
use super::machine::{self, Start};
use super::number::{DigitFormat, Number, Unit, Zeros};
use crate::gathering::Gathering;
use crate::remark::Severity;
use crate::shape::Point;

/// How to read a file's digits, and why.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Decision {
    pub(crate) start: Start,
    pub(crate) source: FormatSource,
    pub(crate) unit_assumed: bool,
}

/// Holes looked at to compare formats; enough to tell, few enough to be quick.
const MOST_LOOKED_AT: usize = 400;

/// What the file says about its format.
#[derive(Debug, Default)]
struct Declared {
    unit: Option<Unit>,
    units_differ: bool,
    zeros: Option<Zeros>,
    digits: Option<(u8, u8)>,
}

/// How a format fares against the copper.
#[derive(Debug, Clone, Copy)]
struct Score {
    landed: usize,
    looked_at: usize,
    /// Landed share, less where all holes crowd into a small part of the copper.
    value: f64,
}

impl Score {
    fn share(self) -> f64 {
        if self.looked_at == 0 { 0.0 } else { self.landed as f64 / self.looked_at as f64 }
    }

    fn words(self) -> String {
        format!("{} of {} holes on copper", self.landed, self.looked_at)
    }
}

/// What the holes should land on.
struct Target<'a> {
    copper: &'a Landing,
    /// Whether holes of unknown plating are unplated: they then need only be inside the copper's bounds.
    unplated: bool,
}

/// Decides how to read the digits, and tells what was not declared.
pub(crate) fn decide(
    commands: &[Placed],
    copper: Option<&Landing>,
    unplated: bool,
    remarks: &mut Gathering,
) -> Decision {
    let declared = declarations(commands);
    let numbers = pointless_numbers(commands);
    let candidates = candidates(&declared, &numbers, commands);
    // The list is never empty; the fall-back only spares a panic.
    let usual = candidates.first().copied().unwrap_or(DigitFormat {
        unit: Unit::Inch,
        zeros: Zeros::LeadingOmitted,
        integer_digits: 2,
        fraction_digits: 4,
    });
    let as_declared = Decision {
        start: Start { format: usual, forced: false },
        source: FormatSource::Declared,
        unit_assumed: declared.unit.is_none(),
    };
    if declared.units_differ {
        remarks.about(Severity::Warning, "the unit changes on the way; each part is read in its own");
        return Decision { source: FormatSource::Declared, ..as_declared };
    }
    let open = declared.unit.is_none()
        || (!numbers.is_empty()
            && (declared.digits.is_none() || (declared.zeros.is_none() && !same_width(&numbers))));
    let has_position = |p: &Placed| matches!(p.command, Command::Position(_) | Command::Slot { .. });
    if !commands.iter().any(has_position) {
        if declared.unit.is_none() {
            remarks
                .about(Severity::Warning, format!("no unit is declared; {} is assumed", usual.unit.symbol()));
        }
        return as_declared;
    }
    match copper {
        Some(copper) => by_copper(
            commands,
            &Target { copper, unplated },
            &candidates,
            open,
            numbers.is_empty(),
            as_declared,
            remarks,
        ),
        None => without_copper(open, numbers.is_empty(), as_declared, remarks),
    }
}

fn source_of(open: bool, all_points: bool, found: FormatSource) -> FormatSource {
    match (all_points, open) {
        (true, _) => FormatSource::DecimalPoints,
        (false, true) => found,
        (false, false) => FormatSource::Declared,
    }
}

fn without_copper(open: bool, all_points: bool, mut decision: Decision, remarks: &mut Gathering) -> Decision {
    decision.source = source_of(open, all_points, FormatSource::Assumed);
    let format = decision.start.format;
    if open && all_points {
        let text = format!(
            "no unit is declared and there is no copper to try it on; {} is assumed",
            format.unit.symbol()
        );
        remarks.about(Severity::Warning, text);
    } else if open {
        let text = format!(
            "the digits of coordinates are not fully declared and there is no copper to try them on; {} is assumed",
            format.words()
        );
        remarks.about(Severity::Warning, text);
    }
    decision
}

fn by_copper(
    commands: &[Placed],
    copper: &Target<'_>,
    candidates: &[DigitFormat],
    open: bool,
    all_points: bool,
    mut decision: Decision,
    remarks: &mut Gathering,
) -> Decision {
    let usual = decision.start.format;
    let usual_score = score(commands, usual, false, copper);
    if !open && usual_score.share() >= 0.5 {
        decision.source = source_of(open, all_points, FormatSource::Declared);
        return decision;
    }
    let mut tried = vec![(usual, usual_score)];
    tried.extend(candidates.iter().skip(1).map(|&format| (format, score(commands, format, true, copper))));
    let best = |skip: Option<DigitFormat>| {
        let rest = tried.iter().filter(|t| Some(t.0) != skip);
        rest.fold(None::<(DigitFormat, Score)>, |best, &t| match best {
            Some(b) if b.1.value >= t.1.value => Some(b),
            _ => Some(t),
        })
    };
    let (mut chosen, mut chosen_score) = best(None).unwrap_or((usual, usual_score));
    // The usual reading stands unless another one is clearly better; a declared one, unless it is clearly wrong.
    let clearly_better = if open {
        usual_score.share() < 0.9 && chosen_score.value > usual_score.value + 0.1
    } else {
        chosen_score.landed >= 3
            && chosen_score.share() >= 0.9
            && chosen_score.value > usual_score.value + 0.5
    };
    if !clearly_better {
        (chosen, chosen_score) = (usual, usual_score);
    }
    decision.start = Start { format: chosen, forced: chosen != usual };
    decision.source = source_of(open, all_points, FormatSource::Deduced);
    let other = best(Some(chosen)).map_or(String::new(), |(format, score)| {
        format!(" (next best: {}, {})", format.words(), score.landed)
    });
    let read_as = if all_points { chosen.unit.symbol().to_owned() } else { chosen.words() };
    if !open && chosen != usual {
        decision.source = FormatSource::Deduced;
        let text = format!(
            "the declared digits ({}) put {}; read as {read_as}, which puts {}",
            usual.words(),
            usual_score.words(),
            chosen_score.words()
        );
        remarks.about(Severity::Warning, text);
    } else if !open {
        decision.source = source_of(open, all_points, FormatSource::Declared);
        // Unplated holes keep clear of copper on purpose; that says nothing.
        if !copper.unplated {
            remarks.about(
                Severity::Warning,
                format!("only {}; check that the files belong together", usual_score.words()),
            );
        }
    } else {
        let severity = if chosen_score.share() >= 0.5 { Severity::Note } else { Severity::Warning };
        let what = if all_points { "the unit is" } else { "the digits of coordinates are" };
        let text = format!(
            "{what} not fully declared; read as {read_as}, which puts {}{other}",
            chosen_score.words()
        );
        remarks.about(severity, text);
    }
    decision
}

fn declarations(commands: &[Placed]) -> Declared {
    let mut declared = Declared::default();
    for placed in commands {
        match placed.command {
            Command::Unit(unit) => {
                declared.units_differ |= declared.unit.is_some_and(|u| u != unit);
                declared.unit = declared.unit.or(Some(unit));
            }
            Command::Zeros(zeros) => declared.zeros = declared.zeros.or(Some(zeros)),
            Command::Digits { integer, fraction } => {
                declared.digits = declared.digits.or(Some((integer, fraction)));
            }
            _ => {}
        }
    }
    declared
}

/// The coordinates without decimal point, bare zeros left out.
fn pointless_numbers(commands: &[Placed]) -> Vec<Number> {
    let words = commands.iter().flat_map(|p| match &p.command {
        Command::Position(words) => vec![*words],
        Command::Slot { from, to } => vec![*from, *to],
        Command::Repeat { step, .. } | Command::PatternRepeat { step, .. } => vec![*step],
        _ => Vec::new(),
    });
    let numbers = words.flat_map(|w| w.numbers().collect::<Vec<_>>());
    numbers.filter(|n| n.fraction.is_none() && n.digits != 0).collect()
}

fn same_width(numbers: &[Number]) -> bool {
    numbers.windows(2).all(|w| w[0].count == w[1].count)
}

/// Formats worth trying, the declared or usual one first.
fn candidates(declared: &Declared, numbers: &[Number], commands: &[Placed]) -> Vec<DigitFormat> {
    let units = match declared.unit {
        Some(unit) => vec![unit],
        None if small_tools(commands) => vec![Unit::Inch, Unit::Millimetre],
        None => vec![Unit::Millimetre, Unit::Inch],
    };
    // A leading zero that is there, in numbers of differing length, says that the trailing ones are left out.
    let leading_zero = |n: &Number| n.count > 1 && n.digits < 10i64.pow(u32::from(n.count) - 1);
    let trailing_omitted = !same_width(numbers) && numbers.iter().any(leading_zero);
    let zeros = match (declared.zeros, trailing_omitted) {
        (Some(zeros), true) if zeros == Zeros::TrailingOmitted => [zeros, Zeros::LeadingOmitted],
        (Some(zeros), _) => [zeros, opposite(zeros)],
        (None, true) => [Zeros::TrailingOmitted, Zeros::LeadingOmitted],
        (None, false) => [Zeros::LeadingOmitted, Zeros::TrailingOmitted],
    };
    let width = numbers.iter().map(|n| n.count).max().unwrap_or(0);
    let mut found = Vec::new();
    for zeros in zeros {
        for &unit in &units {
            let usual: &[(u8, u8)] = match unit {
                Unit::Inch => &[(2, 4), (2, 3), (2, 5), (3, 3), (2, 6), (1, 4), (3, 4), (3, 5)],
                Unit::Millimetre => {
                    &[(3, 3), (4, 2), (3, 2), (4, 3), (3, 4), (4, 4), (2, 4), (3, 5), (2, 2), (4, 1), (2, 3)]
                }
            };
            let wide_enough = |d: &&(u8, u8)| d.0 + d.1 >= width;
            let listed = usual.iter().filter(wide_enough).chain(usual.iter().filter(|d| !wide_enough(d)));
            for &(integer_digits, fraction_digits) in declared.digits.iter().chain(listed) {
                let format = DigitFormat { unit, zeros, integer_digits, fraction_digits };
                // Only the digits on the side that is complete change anything.
                let same = |f: &DigitFormat| {
                    f.unit == unit
                        && f.zeros == zeros
                        && match zeros {
                            Zeros::LeadingOmitted => f.fraction_digits == fraction_digits,
                            Zeros::TrailingOmitted => f.integer_digits == integer_digits,
                        }
                };
                if !found.iter().any(same) {
                    found.push(format);
                }
            }
        }
    }
    found
}

fn opposite(zeros: Zeros) -> Zeros {
    match zeros {
        Zeros::LeadingOmitted => Zeros::TrailingOmitted,
        Zeros::TrailingOmitted => Zeros::LeadingOmitted,
    }
}

/// Whether all tool diameters are so small that they must be inches.
fn small_tools(commands: &[Placed]) -> bool {
    let mut largest = None::<i64>;
    for placed in commands {
        if let Command::Tool { diameter: Some(d), .. } = &placed.command {
            let fraction = d.fraction.map_or(3, i32::from);
            largest = largest.max(Some(d.scaled(1_000_000, fraction)));
        }
    }
    largest.is_none_or(|d| d <= 350_000)
}

fn score(commands: &[Placed], format: DigitFormat, forced: bool, target: &Target<'_>) -> Score {
    let mut unheard = Gathering::new("");
    let made = machine::run(commands, Start { format, forced }, &mut unheard);
    let bare = |plated: Option<bool>| plated.map_or(target.unplated, |p| !p);
    let slot_ends =
        made.slots.iter().filter_map(|s| s.path.first().map(|p| (*p, s.diameter_nm, bare(s.plated))));
    let hits = made.hits.iter().map(|h| (h.at, h.diameter_nm, bare(h.plated)));
    let mut holes: Vec<(Point, i32, bool)> = hits.chain(slot_ends).collect();
    holes.sort_unstable();
    holes.dedup();
    let stride = holes.len().div_ceil(MOST_LOOKED_AT).max(1);
    let copper = target.copper;
    let lands = |h: &&(Point, i32, bool)| if h.2 { copper.within(h.0) } else { copper.lands(h.0, h.1) };
    let landed = holes.iter().step_by(stride).filter(lands).count();
    let mut score = Score { landed, looked_at: holes.len().div_ceil(stride), value: 0.0 };
    score.value = score.share() * spread(&holes, copper);
    score
}

/// 1 where the holes spread over a tenth or more of the copper's width and height together, less where they crowd.
fn spread(holes: &[(Point, i32, bool)], copper: &Landing) -> f64 {
    let range = |values: &mut dyn Iterator<Item = i64>| {
        let (low, high) = values.fold((i64::MAX, i64::MIN), |(l, h), v| (l.min(v), h.max(v)));
        high.saturating_sub(low).max(0) as f64
    };
    let across =
        range(&mut holes.iter().map(|h| h.0.x_nm.into())) + range(&mut holes.iter().map(|h| h.0.y_nm.into()));
    let (width, height) = copper.extent_nm();
    let whole = (width + height) as f64;
    if whole > 0.0 { 0.5 + 0.5 * (across / whole / 0.25).min(1.0) } else { 1.0 }
}
