//! What can be asked on the command line, and the words of its help.
//!
//! Must not know how anything is done. Start reading at [`Command`].

mod sheet;

use std::path::PathBuf;

use clap::builder::{PossibleValuesParser, TypedValueParser};
use clap::{Args, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;
use model::{Check, ListingId};

use sheet::SHEET_LINKS_HELP;
pub use sheet::{SheetFormat, SheetLinksArguments};

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
    /// Show the whole of it on an invented shop's sale day, with nothing to set up
    Demo(DemoArguments),
    /// Look after the shop: ask its sources, compare, and say what is missing, wrong or late, until it is stopped
    #[command(after_long_help = WATCH_HELP)]
    Watch(WatchArguments),
    /// Print the digest of a day, or send it; or try whether a mail arrives
    #[command(after_long_help = DIGEST_HELP)]
    Digest(DigestArguments),
    /// List what is to be done: what was found, and was not set aside
    Findings(FindingsArguments),
    /// Show one order: its lines, what was sent for them, the parcels, what was found, and what happened when
    Order(OrderArguments),
    /// Put a finding aside, with the reason
    SetAside(SetAsideArguments),
    /// Say that a supplier order made by hand serves a line of an order
    Tie(TieArguments),
    /// Say how far each source was read, what failed, and what waits
    Status(StatusArguments),
    /// Try a source, and look at what it answers
    #[command(subcommand)]
    Source(SourceCommand),
    /// Say which supplier's variant each offer should lead to
    #[command(subcommand)]
    Links(LinksCommand),
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
  3  rows were skipped, or a source could not be read, so that the audit is not complete";

const WATCH_HELP: &str = "\
What is found is written to standard output, a paragraph each, as it is found and as it settles; how asking the sources
goes is written to standard error. It ends by itself on SIGTERM or Ctrl-C, behind the page that is being read; whatever
ends it, nothing is lost and nothing is read twice.

With --once it asks every source once, says what is new, and ends, with:
  0  nothing stands
  1  there are findings
  2  it could not begin
  3  a source could not be read, so that the answer is not complete";

/// What to audit, and how to say it.
#[derive(Args, Debug)]
pub struct AuditArguments {
    /// The folder with the exported tables; without it, what `everyline watch` has read is audited
    ///
    /// Orders may also stand there in the terms of schema.org, as *.json, *.jsonld or *.jsonl: they need no mapping.
    #[arg(long, value_name = "DIR")]
    pub from: Option<PathBuf>,

    /// A mapping that says how to read exports in that folder; can be given several times, one for each source
    ///
    /// `everyline source propose` writes one from a sample. Exchange files in the folder are read too, for the tables
    /// that no mapping brings.
    #[arg(long = "map", value_name = "FILE", requires = "from")]
    pub maps: Vec<PathBuf>,

    /// The configuration file [default: with --from none, with --map the first of those, otherwise everyline.toml]
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

/// Which configuration, and which of its shops.
#[derive(Args, Debug)]
pub struct ShopArguments {
    /// The configuration file
    #[arg(long, value_name = "FILE", default_value = "everyline.toml")]
    pub config: PathBuf,

    /// Which shop, where the configuration has several
    #[arg(long, value_name = "NAME")]
    pub shop: Option<String>,
}

/// How to look after the shops.
#[derive(Args, Debug)]
pub struct WatchArguments {
    /// The configuration file
    #[arg(long, value_name = "FILE", default_value = "everyline.toml")]
    pub config: PathBuf,

    /// Ask every source once, say what is new, and end
    #[arg(long)]
    pub once: bool,

    /// Say nothing of how asking the sources goes, but for what fails
    #[arg(long, short)]
    pub quiet: bool,

    /// Take the time from standard input: each line is a moment for which one round is made, and answered with a line
    #[arg(long, hide = true, conflicts_with = "once")]
    pub told_time: bool,
}

const DIGEST_HELP: &str = "\
`everyline watch` sends each recipient one digest a day by itself. This prints what it would say, or sends it now.

Exit codes: 0 printed or sent; 2 bad input or usage; 3 something is not known yet, or was not delivered.";

/// Which digest, and what to do with it.
#[derive(Args, Debug)]
pub struct DigestArguments {
    #[command(flatten)]
    pub of: ShopArguments,

    /// The day, such as 2026-11-25; today where it is left out. An earlier day is judged by what is known now, unless it was
    /// sent: then what was sent is printed
    #[arg(long, value_name = "DAY")]
    pub day: Option<String>,

    /// As one of the recipients of the configuration gets it; all that there is where it is left out
    #[arg(long, value_name = "NAME", conflicts_with = "shop")]
    pub recipient: Option<String>,

    /// How to print it
    #[arg(long, value_enum, default_value_t = DigestFormat::Text)]
    pub format: DigestFormat,

    /// Write it as a page into this file, to look at in a browser
    #[arg(long, value_name = "FILE")]
    pub preview: Option<PathBuf>,

    /// Send it to its recipients, or to the one that is given; each gets the digest of a day once
    #[arg(long, conflicts_with_all = ["shop", "preview", "format"])]
    pub send: bool,

    /// Send a mail to this address, to see whether it arrives
    #[arg(long, value_name = "ADDRESS", conflicts_with_all = ["shop", "preview", "format", "send", "day", "recipient"])]
    pub test_to: Option<String>,
}

/// How a digest is printed.
#[derive(ValueEnum, Clone, Copy, PartialEq, Eq, Debug)]
pub enum DigestFormat {
    /// As the text of a mail, below its subject
    Text,
    /// As the page of a mail
    Html,
    /// For programs
    Json,
}

/// Which findings to list.
#[derive(Args, Debug)]
pub struct FindingsArguments {
    #[command(flatten)]
    pub of: ShopArguments,

    /// Also those that were set aside
    #[arg(long)]
    pub all: bool,

    /// As things stood then [default: as lately as the sources have been read]
    ///
    /// A time such as 2026-11-25T18:00:00+01:00, or a date: its last second in the shop's time zone.
    #[arg(long, value_name = "TIME")]
    pub as_of: Option<String>,

    /// Only what this check finds; can be given several times
    #[arg(
        long = "check",
        value_name = "NAME",
        value_parser = PossibleValuesParser::new(Check::ALL.iter().map(|check| check.word()))
            .try_map(|word| word.parse::<Check>()),
    )]
    pub checks: Vec<Check>,

    /// How they are written
    #[arg(long, value_name = "FORMAT", value_enum, default_value_t = ListFormat::Table)]
    pub format: ListFormat,
}

/// How a list is written.
#[derive(Clone, Copy, PartialEq, Eq, Debug, ValueEnum)]
pub enum ListFormat {
    /// For reading
    Table,
    /// One JSON object a line
    Jsonl,
}

/// Which order to show.
#[derive(Args, Debug)]
pub struct OrderArguments {
    /// The order's id, as the storefront writes it
    #[arg(value_name = "ORDER")]
    pub order: String,

    /// As things stood then [default: as lately as the sources have been read]
    ///
    /// A time such as 2026-11-25T18:00:00+01:00, or a date: its last second in the shop's time zone.
    #[arg(long, value_name = "TIME")]
    pub as_of: Option<String>,

    #[command(flatten)]
    pub of: ShopArguments,
}

/// What to do with links.
#[derive(Subcommand, Debug)]
pub enum LinksCommand {
    /// Propose the variant of each offer, and say why; nothing is changed
    #[command(after_long_help = PROPOSE_LINKS_HELP)]
    Propose(ProposeLinksArguments),
    /// Check the offers against the variants that they lead to, the best-selling listing with something wrong first
    #[command(after_long_help = CHECK_LINKS_HELP)]
    Check(CheckLinksArguments),
    /// Say where an offer, a SKU or a listing leads, or which product a good is; keep proposals; take a change back
    #[command(after_long_help = SET_LINKS_HELP)]
    Set(Box<SetLinksArguments>),
    /// Keep the links of a table, all of them or none; without --yes it says what would change
    #[command(after_long_help = IMPORT_LINKS_HELP)]
    Import(ImportLinksArguments),
    /// Write your links, your rules, or each change of them
    Export(ExportLinksArguments),
    /// Fill in a new listing's offer table: SKU, price, margin, on sale or off with the reason; nothing is changed
    #[command(after_long_help = SHEET_LINKS_HELP)]
    Sheet(Box<SheetLinksArguments>),
    /// Bring intended links into force: change the SKUs of the offers at the storefront; without --yes it says what would
    /// change
    #[command(after_long_help = SEND_LINKS_HELP)]
    Send(Box<SendLinksArguments>),
}

const SEND_LINKS_HELP: &str = "\
For each offer for which you intend a link it says which SKU it bears, and which it is to bear so that the link is found.
What no SKU can say (a set, several units, a variant that is not made now, a SKU that two variants share, an offer off
sale, a link elsewhere that is asked first) is not sent, and is named with what to do. With --yes, and a source that
declares how a SKU is changed, it changes one offer after the other: each is read before, and left alone where it was
changed meanwhile, and read again after. What was asked for is noted in the ledger before it is asked; after a crash the
same command first looks what became of it. Before the first change a file is written that puts everything back:
  everyline links send --listing KL-2
  everyline links send --listing KL-2 --yes
  everyline links send --put-back everyline.db.skus-shop-1.jsonl --yes

For a storefront without such a declaration it writes a table for the storefront's own bulk edit, as `sku_table` of the
source says, or with the columns listing_id, options, old_sku and sku. Ids and SKUs stand in it as they are; free text that
a spreadsheet would take for a formula is refused.

Ends with:
  0  nothing is to be done, or all of it was done and seen
  1  something is left to do
  2  the input or the command line is not right; nothing was changed
  3  it is not complete: it was stopped, the storefront did not answer, or of some it is not known what became of them";

/// Which SKUs to change.
#[derive(Args, Debug)]
pub struct SendLinksArguments {
    /// Only this listing; can be given several times
    #[arg(long = "listing", value_name = "ID")]
    pub listings: Vec<String>,

    /// At which source, where several have something to change
    #[arg(long, value_name = "NAME", conflicts_with = "put_back")]
    pub source: Option<String>,

    /// Change the SKUs at the storefront
    #[arg(long, conflicts_with = "out")]
    pub yes: bool,

    /// How it is written [default: table; csv where the source does not declare how a SKU is changed]
    #[arg(long, value_name = "FORMAT", value_enum)]
    pub format: Option<SendFormat>,

    /// Write the table for the storefront's own bulk edit into this file, which must not be there yet
    #[arg(long, value_name = "FILE", conflicts_with = "put_back")]
    pub out: Option<PathBuf>,

    /// Put back what a run changed, by the file that it wrote: offers that still bear the SKU that it set have their old
    /// one again
    #[arg(long, value_name = "FILE")]
    pub put_back: Option<PathBuf>,

    /// Where the file that puts everything back is written [default: beside the ledger]
    #[arg(long, value_name = "FILE", requires = "yes")]
    pub put_back_file: Option<PathBuf>,

    #[command(flatten)]
    pub signed: SignedArguments,

    #[command(flatten)]
    pub of: ShopArguments,
}

/// How SKUs that are to be changed are written.
#[derive(Clone, Copy, PartialEq, Eq, Debug, ValueEnum)]
pub enum SendFormat {
    /// For reading
    Table,
    /// One JSON object a line, one for each offer
    Jsonl,
    /// The table for the storefront's own bulk edit
    Csv,
}

const SET_LINKS_HELP: &str = "\
What leads somewhere is named by one of:
  --listing ID --option NAME=VALUE …  one offer; as many of its options as make clear which
  --listing ID                        the whole listing
  --sku SKU                           whatever bears the SKU
  --good GOOD                         a good, in every listing that sells it; with --product
and where it leads by SUPPLIER:VARIANT (the variant's id, or its SKU), or by `own`:
  everyline links set --listing KL-2 --option Size=XL --option Colour=Moss alder-print:AP-XL-MO
  everyline links set --listing KL-7 alder-print:MUG-LOW alder-print:BOX=2
  everyline links set --sku CARD-A6 own
  everyline links set --listing KL-9 --option 'Mug=Mug A' --product 'alder-print:Mug, tall'
  everyline links set --proposed --listing KL-2

A link that you make is intended until the storefront's SKU, or the supplier, is seen to lead there; orders are matched by
it at once. Where an offer was for you to decide because several products could be meant, your answer is also kept as a
rule for that good, in this and in later listings (--no-rule: not so).

Ends with 0 where it was done, or with --proposed and without --yes could be; otherwise with 2, and nothing was kept.";

/// Where something leads.
#[derive(Args, Debug)]
#[command(group(clap::ArgGroup::new("what").required(true).args(["to", "product", "remove", "proposed", "undo"])))]
#[command(group(clap::ArgGroup::new("about").multiple(false).args(["listings", "sku", "good"])))]
pub struct SetLinksArguments {
    /// Where it leads: SUPPLIER:VARIANT, with =UNITS where one unit needs several; `own` where you pack it yourself or it is
    /// a download; several are the parts of a set
    #[arg(value_name = "TO", requires = "about", conflicts_with = "good")]
    pub to: Vec<String>,

    /// The listing; with --proposed it can be given several times, and without it all are meant
    #[arg(long = "listing", value_name = "ID")]
    pub listings: Vec<String>,

    /// An option of the offer that is meant; can be given several times
    #[arg(long = "option", value_name = "NAME=VALUE", requires = "listings", conflicts_with_all = ["proposed", "undo"])]
    pub options: Vec<String>,

    /// The SKU
    #[arg(long, value_name = "SKU")]
    pub sku: Option<String>,

    /// The good, as `everyline links export --rules` and `everyline links propose` name it, such as 'mug: low'
    #[arg(long, value_name = "GOOD")]
    pub good: Option<String>,

    /// Which product the good is, or the good of that offer, in this and in later listings
    #[arg(long, value_name = "SUPPLIER:PRODUCT", requires = "about", conflicts_with = "sku")]
    pub product: Option<String>,

    /// Take away the link, or the rule, that you made
    #[arg(long, requires = "about")]
    pub remove: bool,

    /// Keep what is proposed for offers that have no link; without --yes it says what that would be
    #[arg(long, conflicts_with_all = ["sku", "good"])]
    pub proposed: bool,

    /// Do it
    #[arg(long, requires = "proposed")]
    pub yes: bool,

    /// Take back a change, as `everyline links export --history` numbers them: what stood before stands again
    #[arg(long, value_name = "CHANGE", conflicts_with = "about")]
    pub undo: Option<i64>,

    /// It is in force already, though everyline cannot see that: you have set it at the supplier
    #[arg(long, requires = "to")]
    pub in_force: bool,

    /// Keep no rule for the good
    #[arg(long, requires = "to")]
    pub no_rule: bool,

    /// Keep it although the offer and the variant say different things
    #[arg(long, conflicts_with_all = ["remove", "undo"])]
    pub despite_contradiction: bool,

    #[command(flatten)]
    pub signed: SignedArguments,

    #[command(flatten)]
    pub of: ShopArguments,
}

/// Who changes links, and why.
#[derive(Args, Debug)]
pub struct SignedArguments {
    /// Who says so [default: the name that you have on this machine]
    #[arg(long, value_name = "NAME")]
    pub by: Option<String>,

    /// Why; it is kept with the change
    #[arg(long, value_name = "TEXT")]
    pub why: Option<String>,
}

const IMPORT_LINKS_HELP: &str = "\
The columns of a table of links: listing_id, sku, option.NAME or options, supplier, variant_id, units, in_force. A row is
for a listing and options where both are given, otherwise for the SKU, otherwise for the whole listing; several rows for
the same are the parts of a set. What `everyline links export` and `everyline links propose --format csv` write can be read.
What a row is for leads where the table says, whatever you said of it before; what is in no row stays as it is.

A row that does not say in_force is intended, not in force. Of a table of rules the columns are product_type, age_group,
words, supplier, product.

Ends with 0 where it was done, or without --yes could be; otherwise with 2, and nothing was kept.";

/// Which links to keep.
#[derive(Args, Debug)]
pub struct ImportLinksArguments {
    /// The table of links, in CSV or JSON Lines: NAME.csv or NAME.jsonl
    #[arg(value_name = "FILE", required_unless_present = "rules")]
    pub file: Option<PathBuf>,

    /// A table of rules, likewise
    #[arg(long, value_name = "FILE")]
    pub rules: Option<PathBuf>,

    /// Take away the links that you made and that are not in the table; with --rules, rules likewise
    #[arg(long)]
    pub replace: bool,

    /// Do it
    #[arg(long)]
    pub yes: bool,

    /// Keep links although offer and variant say different things
    #[arg(long)]
    pub despite_contradiction: bool,

    #[command(flatten)]
    pub signed: SignedArguments,

    #[command(flatten)]
    pub of: ShopArguments,
}

/// What to write.
#[derive(Args, Debug)]
pub struct ExportLinksArguments {
    /// Your rules, instead of your links
    #[arg(long)]
    pub rules: bool,

    /// Each change of links and rules: who made it, when, why, and what it changed
    #[arg(long, conflicts_with = "rules")]
    pub history: bool,

    /// How it is written [default: csv; of the history, table]
    #[arg(long, value_name = "FORMAT", value_enum)]
    pub format: Option<ExportFormat>,

    #[command(flatten)]
    pub of: ShopArguments,
}

/// How links, rules and changes are written.
#[derive(Clone, Copy, PartialEq, Eq, Debug, ValueEnum)]
pub enum ExportFormat {
    /// For reading
    Table,
    /// As a table that `everyline links import` reads; of the history, a row for each thing changed
    Csv,
    /// Likewise, one JSON object a line
    Jsonl,
}

const CHECK_LINKS_HELP: &str = "\
Of each listing with something wrong it shows what, and a grid of its sizes and colours:
  +  linked              ~  intended, not seen in force yet
  !  without a link      x  contradictory: the variant is another one, or two offers share it
  -  leads nowhere       $  costs more than it brings
  o  your own stock      .  not on sale

Ends with:
  0  nothing is wrong
  1  something is
  2  the input or the command line is not right
  3  rows were skipped, so that the answer is not complete";

/// Which offers to check.
#[derive(Args, Debug)]
pub struct CheckLinksArguments {
    #[command(flatten)]
    pub of: OffersArguments,

    /// How they are written; jsonl has a finding a line, as `everyline audit` writes it
    #[arg(long, value_name = "FORMAT", value_enum, default_value_t = ListFormat::Table)]
    pub format: ListFormat,
}

const PROPOSE_LINKS_HELP: &str = "\
An offer is `proposed` where exactly one variant is what it says, `choose` where only you can tell, and `none` where no
supplier makes it. What you picked in listing_products decides which products can be meant; a listing without a row
there can sell all of them. The csv has the proposed links of offers without a link, as rows for links.csv, to be added
there once you have looked them through: they are intended, not in force.

Ends with:
  0  every offer on sale has a proposal
  1  some are for you to decide, or nobody makes them
  2  the input or the command line is not right
  3  rows were skipped, so that the answer is not complete";

/// Which offers to propose links for.
#[derive(Args, Debug)]
pub struct ProposeLinksArguments {
    #[command(flatten)]
    pub of: OffersArguments,

    /// How they are written
    #[arg(long, value_name = "FORMAT", value_enum, default_value_t = LinksFormat::Table)]
    pub format: LinksFormat,
}

/// Which offers, and where they stand.
#[derive(Args, Debug)]
pub struct OffersArguments {
    /// The folder with the tables offers and variants, perhaps links, listing_products, and orders with what was
    /// submitted for them [default: what the ledger knows]
    #[arg(long, value_name = "DIR")]
    pub from: Option<PathBuf>,

    /// Only this listing; can be given several times
    #[arg(long = "listing", value_name = "ID")]
    pub listings: Vec<String>,

    /// Leave out rows that cannot be read
    #[arg(long)]
    pub skip_bad_rows: bool,

    /// The configuration file [default: everyline.toml, where no folder is named]
    #[arg(long, value_name = "FILE")]
    pub config: Option<PathBuf>,

    /// Which shop, where the configuration has several
    #[arg(long, value_name = "NAME")]
    pub shop: Option<String>,
}

impl OffersArguments {
    /// Whether a listing is asked for.
    pub fn wants(&self, listing_id: &ListingId) -> bool {
        self.listings.is_empty() || self.listings.iter().any(|id| id == listing_id.as_str())
    }
}

/// How proposals are written.
#[derive(Clone, Copy, PartialEq, Eq, Debug, ValueEnum)]
pub enum LinksFormat {
    /// For reading: by listing, what is proposed, what is for you to decide, what nobody makes
    Table,
    /// One JSON object a line, one for each offer
    Jsonl,
    /// The proposed links as a table of links
    Csv,
}

/// Which finding to put aside.
#[derive(Args, Debug)]
pub struct SetAsideArguments {
    /// The finding's id, as `everyline findings` shows it, or as much of its beginning as is clear
    #[arg(value_name = "ID")]
    pub id: String,

    /// Why; it is shown with the finding
    #[arg(long, value_name = "TEXT", required_unless_present = "undo")]
    pub note: Option<String>,

    /// Until this time; without it, until what was found of it is something else
    ///
    /// A time such as 2026-11-25T18:00:00+01:00, or a date: through its end in the shop's time zone.
    #[arg(long, value_name = "TIME", conflicts_with = "undo")]
    pub until: Option<String>,

    /// Show it again
    #[arg(long, conflicts_with = "note")]
    pub undo: bool,

    #[command(flatten)]
    pub of: ShopArguments,
}

/// Which supplier order serves which line.
#[derive(Args, Debug)]
pub struct TieArguments {
    /// The order's id
    #[arg(value_name = "ORDER")]
    pub order: String,

    /// The id of the line in it
    #[arg(value_name = "LINE")]
    pub line: String,

    /// The supplier order's id
    #[arg(value_name = "SUBMISSION")]
    pub submission: String,

    /// The id of the line in it; without it, all its lines
    #[arg(value_name = "SUBMISSION_LINE")]
    pub submission_line: Option<String>,

    /// Whose supplier order, where several suppliers have one of this id
    #[arg(long, value_name = "NAME")]
    pub supplier: Option<String>,

    /// Take it back
    #[arg(long)]
    pub undo: bool,

    #[command(flatten)]
    pub of: ShopArguments,
}

/// Whose status to say.
#[derive(Args, Debug)]
pub struct StatusArguments {
    #[command(flatten)]
    pub of: ShopArguments,
}

/// What to do with a source.
#[derive(Subcommand, Debug)]
pub enum SourceCommand {
    /// Try a source step by step, and say what works and what does not
    Check(SourceArguments),
    /// Show the first records of a source as everyline reads them; nothing is kept
    Preview(PreviewArguments),
    /// Propose how to read a source, from samples of what it exports or from addresses that it answers
    #[command(after_long_help = PROPOSE_HELP)]
    Propose(ProposeArguments),
    /// Settle what a proposed mapping leaves open, point by point
    Confirm(ConfirmArguments),
    /// Sign in to a source that asks somebody to, in a browser
    SignIn(SignInArguments),
}

const PROPOSE_HELP: &str = "\
A sample is an export as it is: CSV and its like, xlsx, ods, JSON or JSON Lines; several files of one source together,
such as its orders and its order lines. Some dozens of orders say more than three.

An address is asked as `everyline watch` will ask it, with ten requests at most, over all addresses. How its pages follow
each other, and how to ask only for what has changed, is tried, and stands in the mapping only where it worked. A
parameter that must always be there is given in the address. A secret has no place in an address, nor on the command
line: --sign-in says where it is kept, as sign_in does in the configuration.

  everyline source propose --role storefront --url https://shop.example/api/orders \\
    --sign-in '{ header = \"Authorization\", before = \"Bearer \", secret = { environment = \"TILL_KEY\" } }' \\
    --out everyline.toml

Each field of the mapping comes with its reason and with how sure that is:
  sure    by its name and by its values
  likely  to be confirmed
  open    not known; left out of the mapping until it is said

Ends with 0, also where points are open; with 2 where a sample cannot be read, or an address does not answer.";

/// From what to propose a mapping.
#[derive(Args, Debug)]
pub struct ProposeArguments {
    /// What it is a source of
    #[arg(long, value_name = "ROLE", value_enum)]
    pub role: RoleName,

    /// A file that the source exports; can be given several times
    #[arg(long = "sample", value_name = "FILE", num_args = 1.., required_unless_present = "urls", conflicts_with = "urls")]
    pub samples: Vec<PathBuf>,

    /// An address that the source answers in JSON; can be given several times
    #[arg(long = "url", value_name = "URL")]
    pub urls: Vec<String>,

    /// How to sign in at the addresses: a table of TOML, with the keys of sign_in in the configuration
    #[arg(long, value_name = "TABLE", requires = "urls")]
    pub sign_in: Option<String>,

    /// A further header line for each request, none of them secret; can be given several times
    #[arg(long = "header", value_name = "NAME: VALUE", requires = "urls")]
    pub headers: Vec<String>,

    /// The file for the mapping; without it, it is written to standard output
    #[arg(long, value_name = "MAP")]
    pub out: Option<PathBuf>,

    /// Add the source of the addresses to the configuration of --out, which is there already
    #[arg(long, requires_all = ["urls", "out"], conflicts_with_all = ["replace", "zone"])]
    pub add: bool,

    /// What a column is, or a word means, where it is known before; can be given several times
    ///
    /// TABLE.COLUMN=PLACE says where it stands (nothing: nowhere), TABLE.COLUMN:WORD=MEANING what a word means, as in
    /// --answer orders.status:waiting=open.
    #[arg(long = "answer", value_name = "ANSWER")]
    pub answers: Vec<String>,

    /// The supplier's name, as in all tables [default: supplier]
    #[arg(long, value_name = "NAME")]
    pub supplier: Option<String>,

    /// The source's name in the configuration [default: storefront, or the supplier's name]
    #[arg(long, value_name = "NAME")]
    pub name: Option<String>,

    /// The time zone of times that do not say theirs, such as Europe/Oslo
    #[arg(long, value_name = "ZONE")]
    pub zone: Option<String>,

    /// The mapping of the storefront, so that order numbers and SKUs of both can be compared
    #[arg(long, value_name = "MAP")]
    pub beside: Option<PathBuf>,

    /// A file of a supplier: of two numbers that the storefront's orders have, suppliers are told the one that it names; can
    /// be given several times
    #[arg(long, value_name = "FILE", num_args = 1.., conflicts_with = "urls")]
    pub named_in: Vec<PathBuf>,

    /// Replace the file of --out where it is there
    #[arg(long)]
    pub replace: bool,

    /// How to say what was found
    #[arg(long, value_name = "FORMAT", value_enum, default_value_t = ProposeFormat::Text)]
    pub format: ProposeFormat,
}

/// What a source is a source of.
#[derive(Clone, Copy, PartialEq, Eq, Debug, ValueEnum)]
pub enum RoleName {
    /// Orders and offers
    Storefront,
    /// Variants, supplier orders and parcels
    Supplier,
}

/// How to say what was proposed.
#[derive(Clone, Copy, PartialEq, Eq, Debug, ValueEnum)]
pub enum ProposeFormat {
    /// For reading
    Text,
    /// A list with table, column, at, how and why of each field; of addresses an object with that list as fields, and
    /// with requests and notes
    Json,
}

/// Which mapping to confirm.
#[derive(Args, Debug)]
pub struct ConfirmArguments {
    /// The mapping; it is written anew with what you say
    #[arg(long, value_name = "MAP")]
    pub map: PathBuf,

    /// The mapping of the storefront, so that order numbers and SKUs of both can be compared
    #[arg(long, value_name = "MAP")]
    pub beside: Option<PathBuf>,

    /// A file of a supplier, as for `source propose`: it names the orders of the storefront by the number that suppliers are
    /// told; can be given several times
    #[arg(long, value_name = "FILE", num_args = 1..)]
    pub named_in: Vec<PathBuf>,
}

/// Which source to sign in to, and how the browser comes back.
#[derive(Args, Debug)]
pub struct SignInArguments {
    /// The source, as the configuration names it
    #[arg(value_name = "SOURCE")]
    pub source: String,

    /// To which port of this machine the browser comes back, where the service must know it beforehand [default: any
    /// that is free]
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u16).range(1..))]
    pub port: Option<u16>,

    /// Paste the address to which the browser was sent, where it runs on another machine
    #[arg(long)]
    pub paste: bool,

    #[command(flatten)]
    pub of: ShopArguments,
}

/// Which source to try.
#[derive(Args, Debug)]
pub struct SourceArguments {
    /// The source, as the configuration names it
    #[arg(value_name = "SOURCE")]
    pub source: String,

    #[command(flatten)]
    pub of: ShopArguments,
}

/// Which source to look at.
#[derive(Args, Debug)]
pub struct PreviewArguments {
    /// The source, as the configuration names it
    #[arg(value_name = "SOURCE", required_unless_present = "map")]
    pub source: Option<String>,

    /// A mapping, instead of a source of the configuration
    #[arg(long, value_name = "MAP", conflicts_with = "source", requires = "samples")]
    pub map: Option<PathBuf>,

    /// A file to read by it; can be given several times
    #[arg(long = "sample", value_name = "FILE", requires = "map", num_args = 1..)]
    pub samples: Vec<PathBuf>,

    /// How the records of --map are written
    #[arg(long, value_name = "FORMAT", value_enum, default_value_t = ListFormat::Table, requires = "map")]
    pub format: ListFormat,

    /// Only this request of it
    #[arg(long, value_name = "NAME")]
    pub request: Option<String>,

    /// How many records of each table to show
    #[arg(long, value_name = "NUMBER", default_value_t = 3)]
    pub records: usize,

    #[command(flatten)]
    pub of: ShopArguments,
}

/// How to show the demo.
#[derive(Args, Debug)]
pub struct DemoArguments {
    /// Leave the shop, its suppliers and the ledger as they are at the end, until Ctrl-C
    #[arg(long)]
    pub stay: bool,

    /// Colour in the table
    #[arg(long, value_name = "WHEN", value_enum, default_value_t = Colour::Auto)]
    pub colour: Colour,
}

/// What to do with the configuration file.
#[derive(Subcommand, Debug)]
pub enum ConfigCommand {
    /// Say whether a configuration file holds together, and what is in force with it
    Check(ConfigCheckArguments),
    /// Ask for a password of the page, and print the hash of it that the configuration leads to
    #[command(after_long_help = PASSWORD_HELP)]
    Password,
}

const PASSWORD_HELP: &str = "\
The password is typed twice, or read as one line from standard input. Only its hash (Argon2id) is printed. Keep that in a file
of its own, and lead to it from the configuration:

  everyline config password > page-password

  [page]
  listen = \"0.0.0.0:8765\"
  password_hash = { file = \"page-password\" }";

/// Which configuration to check.
#[derive(Args, Debug)]
pub struct ConfigCheckArguments {
    /// The configuration file [default: everyline.toml where it is there; otherwise the defaults are shown]
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
