//! What can be typed after `lampwright`, as one table: help, checks and parsing come from it.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};

/// Temperatures of a high-power LED lamp from its fabrication artwork, before anything is ordered.
#[derive(Debug, Parser)]
#[command(
    name = "lampwright",
    version,
    arg_required_else_help = true,
    disable_help_subcommand = true,
    after_help = "LAMP is a lamp folder or the lamp.toml in it.\n\
        Exit status: 0 fine, 1 the lamp fails a limit, 2 bad input, 3 internal fault, 130 stopped from the keyboard.\n\
        Lampwright predicts temperatures; it certifies nothing. Follow local codes."
)]
pub struct Arguments {
    /// Print one JSON object instead of text.
    #[arg(long, global = true)]
    pub json: bool,
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Unpack an invented lamp into a folder, predict it, and open its page.
    Demo(DemoArguments),
    /// Start a lamp folder with a commented lamp.toml.
    New(NewArguments),
    /// Read everything and say what was understood and what is wrong; solve nothing.
    Check(CheckArguments),
    /// Temperatures, light and heat at each drive current.
    Predict(PredictArguments),
    /// Plan the bench test: currents and their order, dwell, expected readings, when to break off, what to do and to mind.
    Plan(PlanArguments),
    /// Say which board ran cooler on the bench, what each current settled to, and what went wrong; or propose a bench sheet for a log.
    Bench(BenchArguments),
    /// Fit what is not known exactly to the plateaus of the bench test; say what the junctions were, and how sure that is.
    Fit(FitArguments),
    /// What to set: highest safe current, throttle reading, light and life, each with its doubt; and what to change.
    Verdict(VerdictArguments),
    /// Record a run as the logger sends it, show it live, and say when the plateau is settled and when to break off.
    Record(RecordArguments),
    /// Show the lamp on a local page.
    Serve(ServeArguments),
}

/// `lampwright demo`
#[derive(Debug, Args)]
pub struct DemoArguments {
    /// Folder to unpack into; files of yours that differ from the demo's are kept.
    #[arg(long, value_name = "FOLDER", default_value = "fossil-bench-lamp")]
    pub folder: PathBuf,
    /// How the page is shown.
    #[command(flatten)]
    pub page: PageArguments,
}

/// `lampwright new`
#[derive(Debug, Args)]
pub struct NewArguments {
    /// Folder to start; it must not exist yet, or be empty.
    pub folder: PathBuf,
}

/// `lampwright check`
#[derive(Debug, Args)]
pub struct CheckArguments {
    /// Lamp folder, or its lamp.toml.
    #[arg(required_unless_present = "artwork")]
    pub lamp: Option<PathBuf>,
    /// Read these fabrication files alone (Gerber, drill, centroid; a folder means every file in it), without a lamp.
    #[arg(long, value_name = "FILE", num_args = 1.., conflicts_with = "lamp")]
    pub artwork: Vec<PathBuf>,
}

/// `lampwright predict`
#[derive(Debug, Args)]
pub struct PredictArguments {
    /// Lamp folder, or its lamp.toml.
    pub lamp: PathBuf,
    /// Drive current, such as "0.7 A" or "700 mA", instead of those of lamp.toml; may be repeated.
    #[arg(long = "current", value_name = "CURRENT", allow_hyphen_values = true)]
    pub currents: Vec<String>,
    /// Only this variant; may be repeated.
    #[arg(long = "variant", value_name = "NAME")]
    pub variants: Vec<String>,
    /// Room temperature, such as "35 degC", instead of that of lamp.toml.
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub ambient: Option<String>,
    /// Also solve what burrs, bow, and missing contact under each emitter in turn cost, at the nominal current.
    #[arg(long)]
    pub contact: bool,
    /// Leave the lamp folder's results/ as it is.
    #[arg(long)]
    pub no_write: bool,
}

/// `lampwright plan`
#[derive(Debug, Args)]
pub struct PlanArguments {
    /// Lamp folder, or its lamp.toml.
    pub lamp: PathBuf,
    /// Drive current, such as "0.7 A" or "700 mA", instead of those of lamp.toml; may be repeated.
    #[arg(long = "current", value_name = "CURRENT", allow_hyphen_values = true)]
    pub currents: Vec<String>,
    /// Only this variant; may be repeated.
    #[arg(long = "variant", value_name = "NAME")]
    pub variants: Vec<String>,
    /// How the currents of a run follow one another: up and down again, up once, or shuffled.
    #[arg(long, value_enum, default_value = "mirrored")]
    pub order: PlanOrder,
    /// Number by which a random order is shuffled; the same gives the same order.
    #[arg(long, value_name = "NUMBER")]
    pub seed: Option<u64>,
    /// How often each board is mounted; every other round goes backwards.
    #[arg(long, value_name = "NUMBER", default_value_t = 1, value_parser = clap::value_parser!(u8).range(1..=6))]
    pub mountings: u8,
    /// Leave the lamp folder's results/ as it is.
    #[arg(long)]
    pub no_write: bool,
}

/// How the currents of a run follow one another.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum PlanOrder {
    /// Up and down again.
    Mirrored,
    /// Up, each once.
    Rising,
    /// Each once, shuffled for each run.
    Random,
}

/// `lampwright bench`
#[derive(Debug, Args)]
pub struct BenchArguments {
    /// Lamp folder, or its lamp.toml; with --sniff it may be left out.
    #[arg(required_unless_present = "sniff")]
    pub lamp: Option<PathBuf>,
    /// Only these runs, by the names of their bench sheets.
    #[arg(value_name = "RUN", conflicts_with = "sniff")]
    pub runs: Vec<String>,
    /// Look at this log and print a bench sheet for it, each line with its reason; nothing is written.
    #[arg(long, value_name = "FILE")]
    pub sniff: Option<PathBuf>,
    /// Also write the tables plateaus.csv and comparison.csv into the lamp folder's results/.
    #[arg(long, conflicts_with = "sniff")]
    pub csv: bool,
}

/// `lampwright fit`
#[derive(Debug, Args)]
pub struct FitArguments {
    /// Lamp folder, or its lamp.toml.
    pub lamp: PathBuf,
    /// Leave the lamp folder's results/ as it is.
    #[arg(long)]
    pub no_write: bool,
}

/// `lampwright verdict`
#[derive(Debug, Args)]
pub struct VerdictArguments {
    /// Lamp folder, or its lamp.toml.
    pub lamp: PathBuf,
    /// Only this variant; may be repeated.
    #[arg(long = "variant", value_name = "NAME")]
    pub variants: Vec<String>,
    /// Hottest room that the lamp must stand, such as "45 degC", instead of that of lamp.toml.
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub hottest: Option<String>,
    /// Go by the tolerances alone, though a fit was made.
    #[arg(long)]
    pub unfitted: bool,
    /// Number from which the lamps are drawn; the same gives the same answer.
    #[arg(long, value_name = "NUMBER", default_value_t = crate::judgement::SEED)]
    pub seed: u32,
    /// Leave the lamp folder's results/ as it is.
    #[arg(long)]
    pub no_write: bool,
}

/// `lampwright record`
#[derive(Debug, Args)]
pub struct RecordArguments {
    /// Lamp folder, or its lamp.toml.
    pub lamp: PathBuf,
    /// Name of the run: bench/RUN.csv is written, or gone on with; the time of its beginning when missing.
    #[arg(value_name = "RUN")]
    pub run: Option<String>,
    /// Read from this serial line, 8 bits without parity; without --serial and --file, standard input is read.
    #[arg(long, value_name = "PORT", conflicts_with = "file")]
    pub serial: Option<PathBuf>,
    /// Speed of the serial line, baud.
    #[arg(long, value_name = "NUMBER", default_value_t = 115_200, requires = "serial")]
    pub baud: u32,
    /// Read this file, which the logger goes on writing.
    #[arg(long, value_name = "FILE")]
    pub file: Option<PathBuf>,
    /// The variant on the bench, by its name in lamp.toml.
    #[arg(long, value_name = "NAME")]
    pub variant: Option<String>,
    /// Take the columns as in the bench sheet of this earlier run of the same logger.
    #[arg(long, value_name = "RUN")]
    pub like: Option<String>,
    /// Drive current where no column holds it, such as "1.05 A".
    #[arg(long, value_name = "CURRENT")]
    pub current: Option<String>,
    /// Room temperature where no column holds it, such as "22 degC".
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub ambient: Option<String>,
    /// A note for the bench sheet.
    #[arg(long, value_name = "TEXT")]
    pub notes: Option<String>,
    /// Sensor reading above which to break off, such as "85 degC"; when missing, it is predicted from the lamp's limits.
    #[arg(long, value_name = "TEMPERATURE", allow_hyphen_values = true)]
    pub abort_above: Option<String>,
    /// End by itself after this time, such as "2 h".
    #[arg(long = "for", value_name = "TIME")]
    pub lasting: Option<String>,
    /// How long a line or file that has vanished is waited for.
    #[arg(long, value_name = "TIME", default_value = "10 min")]
    pub wait: String,
    /// Show the run on a local page as well.
    #[arg(long)]
    pub page: bool,
    /// Port of the page on this machine's loopback address; 0 takes any free one.
    #[arg(long, value_name = "NUMBER", default_value_t = 0, requires = "page")]
    pub port: u16,
    /// Do not open a browser.
    #[arg(long, requires = "page")]
    pub no_open: bool,
}

/// `lampwright serve`
#[derive(Debug, Args)]
pub struct ServeArguments {
    /// Lamp folder, or its lamp.toml.
    pub lamp: PathBuf,
    /// How the page is shown.
    #[command(flatten)]
    pub page: PageArguments,
}

/// How the local page is shown.
#[derive(Debug, Clone, Copy, Args)]
pub struct PageArguments {
    /// Port on this machine's loopback address; 0 takes any free one.
    #[arg(long, value_name = "NUMBER", default_value_t = 0)]
    pub port: u16,
    /// Do not open a browser.
    #[arg(long)]
    pub no_open: bool,
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    use super::*;

    #[test]
    fn the_table_is_consistent() {
        Arguments::command().debug_assert();
    }

    #[test]
    fn json_may_stand_before_or_after_the_command() {
        for words in [["lampwright", "--json", "check", "x"], ["lampwright", "check", "x", "--json"]] {
            assert!(Arguments::try_parse_from(words).expect("both are allowed").json);
        }
    }

    #[test]
    fn bench_wants_a_lamp_or_a_log_to_sniff_at() {
        let typed = |words: &[&str]| Arguments::try_parse_from([&["lampwright", "bench"], words].concat());
        assert!(typed(&[]).is_err());
        assert!(typed(&["--sniff"]).is_err());
        assert!(typed(&["lamp", "evening", "--sniff", "a.csv"]).is_err());
        for words in
            [&["lamp"][..], &["lamp", "evening"], &["--sniff", "a.csv"], &["lamp", "--sniff", "a.csv"]]
        {
            assert!(typed(words).is_ok(), "{words:?}");
        }
    }

    #[test]
    fn check_wants_a_lamp_or_artwork_and_not_both() {
        assert!(Arguments::try_parse_from(["lampwright", "check"]).is_err());
        assert!(Arguments::try_parse_from(["lampwright", "check", "--artwork"]).is_err());
        assert!(Arguments::try_parse_from(["lampwright", "check", "--artwork", "a.gbr", "b.drl"]).is_ok());
        assert!(Arguments::try_parse_from(["lampwright", "check", "lamp", "--artwork", "a.gbr"]).is_err());
    }
}
