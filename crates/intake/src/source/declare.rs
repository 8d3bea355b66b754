//! What a source is: where it is, how it is asked, and where in its answers the fields of the tables stand.
//!
//! A [`Declaration`] is what the configuration says; [`Declaration::check`] makes a [`Source`] of it, or says which
//! key is wrong. Must not know: the network, the clock, or the contents of an answer. Start reading at [`Source`].

mod action;
mod at;
mod check;
mod columns;
mod error;
mod fields;
mod file;
mod keys;
mod oauth;
mod secret;
mod sku_table;
mod template;
mod vocabulary;
mod when_form;

use std::ffi::OsString;
use std::fmt;
use std::num::NonZeroU32;
use std::path::PathBuf;
use std::time::Duration;

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use model::SupplierId;
use secrecy::SecretString;
use url::Url;

pub use action::{ChangeSku, NoValue, Rendered};
pub use at::At;
pub use error::{DeclarationError, Step};
pub use file::FileForm;
pub(crate) use file::{Group, Numbered};
pub use keys::Declaration;
pub use oauth::{ClientAuthentication, Grant, OAuth};
pub use secret::{SecretError, SecretReference};
pub use sku_table::{Beginning, FilledCell, SkuCell, SkuColumn, SkuRow, SkuTable, may_be_a_formula};
pub use template::{NoAddress, Template};
pub use vocabulary::Vocabulary;
pub use when_form::MomentForm;

pub(crate) use action::{Answer, Fill, FromRecord, Placeholder, Reads, object_of, option_of};
pub(crate) use at::{Found, FoundRecords, Outer, Records};
pub(crate) use columns::belongs_by;
pub(crate) use columns::{asked_by, key_columns};
pub(crate) use fields::{Field, MoneyForm, OptionsAt, Reading, Take};

use crate::source::mapping::ParentRow;
use crate::tables::{Column, Table};

/// How often a source is asked that does not say.
pub const DEFAULT_EVERY: Duration = Duration::from_secs(60);

/// How fast a source is asked that does not say: four requests a second, which leaves room under the limits that
/// sources commonly set (common practice, no published source).
pub const DEFAULT_AT_MOST: Rate =
    Rate { requests: NonZeroU32::MIN.saturating_add(3), per: Duration::from_secs(1) };

/// How far back from the mark changes are asked for that do not say: clocks of several machines behind one
/// address differ by less (common practice, no published source).
pub const DEFAULT_OVERLAP: Duration = Duration::from_secs(5 * 60);

/// How long after it was read a source that does not say counts as read up to now: three times as long as it is left
/// alone between two readings, and at least this, in which a restart or a short failure passes unnoticed.
pub const DEFAULT_STALE_AFTER: Duration = Duration::from_secs(10 * 60);

/// The same of a folder, into which somebody puts files by hand once a day.
pub const DEFAULT_FOLDER_STALE_AFTER: Duration = Duration::from_secs(36 * 60 * 60);

/// The largest page that may be asked for. A page is read as a whole, in memory.
pub const MAX_PAGE_SIZE: u32 = 10_000;

/// A source, checked.
#[derive(Clone, Debug)]
pub struct Source {
    /// What it is a source of.
    pub role: Role,
    /// How often it is asked; more than zero.
    pub every: Duration,
    /// How long after it was read it still counts as read up to now; not less than `every`.
    pub stale_after: Duration,
    /// Where its rows come from.
    pub origin: Origin,
    /// How its own bulk edit takes a table of SKUs; `None` where that is not said, and of suppliers.
    pub sku_table: Option<SkuTable>,
}

/// What a source is a source of.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Role {
    /// Orders and offers.
    Storefront,
    /// Variants, submissions and parcels of this supplier: it stands in the column `supplier` of all rows.
    Supplier(SupplierId),
}

/// Where the rows of a source come from.
#[derive(Clone, Debug)]
pub enum Origin {
    /// A folder into which exchange files are put; each is read once.
    Folder(PathBuf),
    /// A folder into which exports of any form are put, each read by a request.
    Exports(PathBuf, Vec<Request>),
    /// Answers over HTTP.
    Service(Box<Service>),
}

/// How a service is asked.
#[derive(Clone, Debug)]
pub struct Service {
    /// HTTPS, or HTTP on loopback; its path ends in `/`. No user, query or fragment.
    pub address: Url,
    /// How fast it is asked at most.
    pub at_most: Rate,
    /// Header lines of every request, none of them secret: name and value.
    pub headers: Vec<(String, String)>,
    /// How to sign in; `None` where nobody has to.
    pub sign_in: Option<SignIn>,
    /// What to ask for, at least one; a request comes behind those whose rows it is asked for.
    pub requests: Vec<Request>,
    /// How the SKU of an offer is changed there; `None`: nothing is.
    pub change_sku: Option<Box<ChangeSku>>,
}

/// So many requests in so long a time.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Rate {
    /// How many.
    pub requests: NonZeroU32,
    /// A second, a minute or an hour.
    pub per: Duration,
}

/// How to sign in.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum SignIn {
    /// A header line whose value is a text with the secret behind it.
    Header {
        /// The header's name.
        name: String,
        /// What stands before the secret; may be empty.
        before: String,
        /// Where the secret is kept.
        secret: SecretReference,
    },
    /// The basic scheme of RFC 7617.
    Basic {
        /// The user; has no colon.
        user: String,
        /// Where the password is kept.
        secret: SecretReference,
    },
    /// An access token that is had, and renewed, at run time.
    OAuth(Box<OAuth>),
}

/// One thing to ask for.
#[derive(Clone, Debug)]
pub struct Request {
    /// As the configuration names it.
    pub name: String,
    pub(crate) path: Template,
    pub(crate) query: Vec<(String, Template)>,
    /// Where it is a file, which, and how it is written.
    pub(crate) file: Option<FileForm>,
    /// The published vocabulary in which it is answered: the tables are of its regular form.
    pub vocabulary: Option<Vocabulary>,
    /// Asked once for each row of this table that another request brings.
    pub(crate) for_each: Option<Table>,
    /// How pages follow each other.
    pub pages: Pages,
    /// How only what has changed is asked for; `None`: everything is read each time.
    pub changes: Option<Changes>,
    /// Where the source says how many records there are in all, over all pages.
    pub count: Option<Count>,
    /// Never empty; a table stands behind the one within which its records stand. The first is the one whose
    /// records are counted and marked.
    pub(crate) tables: Vec<TableMapping>,
    pub(crate) supplier: Option<SupplierId>,
    pub(crate) zone: Tz,
}

/// How pages follow each other.
#[derive(Clone, Debug)]
pub struct Pages {
    /// What the next page is known by.
    pub next: Next,
    /// How many records a page is asked to have: the parameter, and how many.
    pub size: Option<(String, NonZeroU32)>,
}

/// What the next page is known by.
#[derive(Clone, Debug)]
pub enum Next {
    /// There is none: one answer is all.
    None,
    /// The header line `Link` with `rel="next"` (RFC 8288).
    Link,
    /// An address in the answer: [`super::mapping::Mapped::next`]. None in the answer: the last page.
    Url {
        /// Where it stands.
        at: At,
    },
    /// A cursor in the answer: [`super::mapping::Mapped::next`]. None in the answer: the last page.
    Cursor {
        /// Where it stands.
        at: At,
        /// The parameter in which it is handed back.
        ask: String,
    },
    /// The number of the page.
    Number {
        /// The parameter.
        ask: String,
        /// The number of the first page.
        first: u32,
    },
    /// How many records are passed over. [`Pages::size`] is given.
    Offset {
        /// The parameter.
        ask: String,
    },
}

/// How only what has changed is asked for.
#[derive(Clone, Debug)]
pub struct Changes {
    /// The parameter that holds the moment.
    pub ask: String,
    /// How the moment is written.
    pub form: MomentForm,
    /// How far before the mark; more than zero.
    pub overlap: Duration,
}

/// Where a source says how many records there are in all.
#[derive(Clone, Debug)]
pub enum Count {
    /// In the answer: [`super::mapping::Mapped::source_count`].
    At(At),
    /// In a header line of this name.
    Header(String),
}

/// Where the rows of one table stand in an answer.
#[derive(Clone, Debug)]
pub(crate) struct TableMapping {
    pub(crate) table: Table,
    /// The table within whose records these stand.
    pub(crate) within: Option<Table>,
    pub(crate) records: Records,
    /// By position in [`Table::columns`].
    pub(crate) fields: Vec<Field>,
    /// The columns that are the parent's: of the record around it, or of the row that is asked for.
    pub(crate) inherits: Vec<Column>,
    /// Where another request is asked for each row: the columns that it needs.
    pub(crate) hands_on: Option<Vec<Column>>,
}

impl SignIn {
    /// Where its secret is kept; `None` of a public client, which has none.
    pub fn secret(&self) -> Option<&SecretReference> {
        match self {
            Self::Header { secret, .. } | Self::Basic { secret, .. } => Some(secret),
            Self::OAuth(oauth) => oauth.secret.as_ref(),
        }
    }

    /// Fetches its secret, where it has one; `environment` answers a variable by name.
    ///
    /// # Errors
    /// As [`SecretReference::read`].
    pub fn read_secret(
        &self,
        environment: &dyn Fn(&str) -> Option<OsString>,
    ) -> Result<Option<SecretString>, SecretError> {
        self.secret().map(|secret| secret.read(environment)).transpose()
    }
}

impl Source {
    /// The requests over HTTP; none of a folder.
    pub fn requests(&self) -> &[Request] {
        match &self.origin {
            Origin::Folder(_) | Origin::Exports(..) => &[],
            Origin::Service(service) => &service.requests,
        }
    }
}

impl Service {
    /// The requests that are to be asked for each of the rows of `table` that `request` brought.
    pub fn asked_for_each<'s>(
        &'s self,
        request: &'s Request,
        table: &'s str,
    ) -> impl Iterator<Item = &'s Request> {
        self.requests
            .iter()
            .filter(move |other| other.for_each() == Some(table) && other.name != request.name)
    }

    /// The address of a request, with its fixed parameters; those of pages and changes are still to be added.
    ///
    /// # Errors
    /// [`NoAddress`] where the request needs a row and none is given, or a value of the row cannot stand in an
    /// address.
    pub fn url(&self, request: &Request, row: Option<&ParentRow>) -> Result<Url, NoAddress> {
        let mut url = self.address.clone();
        request.path.append_to(&mut url, row)?;
        for (name, value) in &request.query {
            let value = value.filled(row)?;
            url.query_pairs_mut().append_pair(name, &value);
        }
        Ok(url)
    }
}

impl Request {
    /// Which file it is and how that is written; `None` where it is asked for over HTTP.
    pub fn file(&self) -> Option<&FileForm> {
        self.file.as_ref()
    }

    /// The table for each of whose rows this is asked, where it is.
    pub fn for_each(&self) -> Option<&'static str> {
        self.for_each.map(Table::name)
    }

    /// The tables that it brings, the counted one first.
    pub fn tables(&self) -> impl Iterator<Item = &'static str> {
        self.tables.iter().map(|mapping| mapping.table.name())
    }

    /// Whether it brings a table of which a row that is not there any more is gone: `offers`, `variants`,
    /// `listing_products` or `links`.
    pub fn brings_what_can_go(&self) -> bool {
        use Table::{Links, ListingProducts, Offers, Variants};
        self.tables.iter().any(|mapping| matches!(mapping.table, Offers | Variants | ListingProducts | Links))
    }
}

impl Changes {
    /// A moment as the parameter has it.
    pub fn written(&self, moment: DateTime<Utc>) -> String {
        self.form.written(moment)
    }
}

/// `4 per second`.
impl fmt::Display for Rate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let per = match self.per.as_secs() {
            1 => "second",
            60 => "minute",
            _ => "hour",
        };
        write!(f, "{} per {per}", self.requests)
    }
}
