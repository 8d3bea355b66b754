//! What can be asked on the command line, and the words of its help.
//!
//! Must not know how anything is done. Start reading at [`Command`].

use std::path::PathBuf;

use clap::builder::{PossibleValuesParser, TypedValueParser};
use clap::{Args, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;
use model::Check;

/// Checks that every paid line of every order reached the right supplier, in the right quantity, once and in
/// time.
#[derive(Parser, Debug)]
#[command(name = "everyline", version, max_term_width = 100, arg_required_else_help = true)]
#[command(after_help = "To see it at work, with nothing to set up: everyline demo")]
pub struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// What to do.
#[derive(Subcommand, Debug)]
pub enum Command {
    /// Compare orders with what the suppliers were asked to make, and name what is missing, wrong or late
    #[command(after_long_help = AUDIT_HELP)]
    Audit(Box<AuditArguments>),
    /// Show an audit of an invented shop's busy day, with nothing to set up
    Demo(DemoArguments),
    /// Look after the configuration file
    #[command(subcommand)]
    Config(ConfigCommand),
    /// Print what other programs need: shell completions, man pages, the schema of the JSON, a configuration to
    /// begin with
    #[command(subcommand)]
    Print(PrintCommand),
}

const AUDIT_HELP: &str = "\
The folder holds tables, each as NAME.csv or NAME.jsonl. Always needed, with their columns:
  orders            order_id, placed_at, status
  order_lines       order_id, line_id, quantity
and at least one of:
  submissions       supplier, submission_id, status, received_at
  submission_lines  supplier, submission_id, line_id, quantity (with submissions)
  variants          supplier, variant_id
  links             supplier, and listing_id, options or sku
The more there is, the more can be checked: offers, parcels, parcel_lines, listing_products, ties.

Ends with:
  0  nothing was found
  1  there are findings
  2  the input or the command line is not right; nothing was judged
  3  rows were skipped, so that the audit is not complete";

/// What to audit, and how to say it.
#[derive(Args, Debug)]
pub struct AuditArguments {
    /// The folder with the exported tables
    #[arg(long, value_name = "DIR")]
    pub from: Option<PathBuf>,

    /// The configuration file; without it, the defaults hold (see `everyline config check`)
    #[arg(long, value_name = "FILE")]
    pub config: Option<PathBuf>,

    /// Which shop, where the configuration has several
    #[arg(long, value_name = "NAME")]
    pub shop: Option<String>,

    /// Judge as things stood then [default: now]
    ///
    /// A time such as 2026-11-25T18:00:00+01:00, or a date: its last second in the shop's time zone.
    #[arg(long, value_name = "TIME")]
    pub as_of: Option<String>,

    /// Report orders placed at this time or later
    ///
    /// A time such as 2026-11-25T18:00:00+01:00, or a date: from its beginning in the shop's time zone. Earlier
    /// orders are still compared, so that what was sent for them is not taken for surplus.
    #[arg(long, value_name = "TIME")]
    pub since: Option<String>,

    /// Report orders placed before this time; of a date, through its end
    ///
    /// A time such as 2026-11-25T18:00:00+01:00, or a date: through its end in the shop's time zone. Later orders
    /// are still compared.
    #[arg(long, value_name = "TIME")]
    pub until: Option<String>,

    /// Report only what this check finds; can be given several times
    #[arg(
        long = "check",
        value_name = "NAME",
        value_parser = PossibleValuesParser::new(Check::ALL.iter().map(|check| check.word()))
            .try_map(|word| word.parse::<Check>()),
    )]
    pub checks: Vec<Check>,

    /// How the answer is written
    #[arg(long, value_name = "FORMAT", value_enum, default_value_t = Format::Table)]
    pub format: Format,

    /// Leave out rows that cannot be read, and judge the orders that none of them names
    #[arg(long)]
    pub skip_bad_rows: bool,

    /// Judge every order by the plain path, which holds the whole book in memory; the answer is the same
    #[arg(long, hide = true)]
    pub plain: bool,

    /// No progress bar and no notices; what could not be judged is still said
    #[arg(long, short)]
    pub quiet: bool,

    /// Colour in the table
    #[arg(long, value_name = "WHEN", value_enum, default_value_t = Colour::Auto)]
    pub colour: Colour,
}

/// How the answer of an audit is written.
#[derive(Clone, Copy, PartialEq, Eq, Debug, ValueEnum)]
pub enum Format {
    /// For reading
    Table,
    /// One object, with totals and notices
    Json,
    /// One finding a line
    Jsonl,
    /// A row for each order line named, for a spreadsheet
    Csv,
}

/// When to use colour.
#[derive(Clone, Copy, PartialEq, Eq, Debug, ValueEnum)]
pub enum Colour {
    /// On a terminal, unless NO_COLOR is set
    Auto,
    /// Always
    Always,
    /// Never
    Never,
}

/// How to show the demo.
#[derive(Args, Debug)]
pub struct DemoArguments {
    /// Colour in the table
    #[arg(long, value_name = "WHEN", value_enum, default_value_t = Colour::Auto)]
    pub colour: Colour,
}

/// What to do with the configuration file.
#[derive(Subcommand, Debug)]
pub enum ConfigCommand {
    /// Say whether a configuration file holds together, and what is in force with it
    Check(ConfigCheckArguments),
}

/// Which configuration to check.
#[derive(Args, Debug)]
pub struct ConfigCheckArguments {
    /// The configuration file; without it, the defaults are shown
    #[arg(long, value_name = "FILE")]
    pub config: Option<PathBuf>,

    /// Show this shop alone, where the configuration has several
    #[arg(long, value_name = "NAME")]
    pub shop: Option<String>,
}

/// What to print.
#[derive(Subcommand, Debug)]
pub enum PrintCommand {
    /// Completions for a shell, to be put where it looks for them
    Completions {
        /// The shell
        #[arg(value_enum)]
        shell: Shell,
    },
    /// A man page: of everyline, or of one command
    Man {
        /// The command, such as `audit` or `config check`
        command: Vec<String>,
    },
    /// The JSON Schema of what `everyline audit --format json` writes
    Schema {
        /// Of one line of `--format jsonl` instead
        #[arg(long)]
        jsonl: bool,
    },
    /// A configuration file with everything that can be set, explained
    Configuration,
}
