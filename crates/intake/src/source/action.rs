//! Changing something at a storefront, where the declaration says how: the SKU of one offer.
//!
//! [`SkuChanger`] reads one offer again and changes its SKU, as `change_sku` of the source says. It asks a change once:
//! nothing that may have been done is asked again. Must not know which offers are to be changed, or what was changed
//! before. Start reading at [`SkuChanger`];
//! `look` reads offers, `fill` says what placeholders stand for, `answer` reads what a change is answered.

mod answer;
mod fill;
mod look;
mod trouble;

use model::{ListingId, Options, Sku};
use reqwest::Method;
use serde_json::Value;
use url::Url;

pub use trouble::ActionTrouble;

use super::declare::{ChangeSku, Fill, NoValue};
use super::http::{Change, Told, Unsure};
use super::poll::Reader;
use fill::Filling;
use look::Kept;

/// An offer, as an action is told of it.
#[derive(Clone, PartialEq, Debug)]
pub struct OfferKey {
    /// The page in the storefront.
    pub listing_id: ListingId,
    /// The combination.
    pub options: Options,
}

/// What the storefront says of one offer.
#[derive(Clone, PartialEq, Debug)]
pub enum Seen {
    /// It is there, once.
    Found(Found),
    /// There is no such offer, or none any more.
    Missing,
    /// So many records are this offer.
    Ambiguous(usize),
}

/// An offer as it was read.
#[derive(Clone, PartialEq, Debug)]
pub struct Found {
    /// Its SKU; `None` where it has none.
    pub sku: Option<Sku>,
    /// What is taken from the storefront's own record of it, by name.
    taken: Vec<(String, Value)>,
}

impl Found {
    /// An offer of which nothing is known but its SKU.
    pub fn of(sku: Option<Sku>) -> Self {
        Self { sku, taken: Vec::new() }
    }
}

/// How a change ended, as far as its own answer tells.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Asked {
    /// The answer looks as declared.
    Confirmed,
    /// It was answered as done, but not as declared: a clause that says how.
    Otherwise(String),
    /// The storefront said no: nothing was changed, as it says. A clause.
    Refused(String),
    /// The answer was lost, or says that the storefront failed: it may have been changed. A clause.
    NotKnown(String),
}

/// Changes SKUs at one source, at its pace.
#[derive(Debug)]
pub struct SkuChanger {
    reader: Reader,
    change: Box<ChangeSku>,
    /// All offers, as they were read for a plan.
    kept: Option<Kept>,
}

impl SkuChanger {
    /// A changer for a source; `None` where its declaration has no `change_sku`.
    pub fn new(reader: Reader) -> Option<Self> {
        let change = reader.service.change_sku.clone()?;
        Some(Self { reader, change, kept: None })
    }

    /// Whether each reading of one offer reads all offers of the source, which may take as long as a poll of them.
    pub fn reads_all(&self) -> bool {
        matches!(self.change.reads, super::declare::Reads::All(_))
    }

    /// Asks the storefront, once, to change the SKU of an offer; `None` takes it away. `found` is the offer as it was
    /// just read.
    ///
    /// # Errors
    /// [`ActionTrouble`]: nothing was changed.
    pub async fn change(
        &mut self,
        offer: &OfferKey,
        found: &Found,
        sku: Option<&Sku>,
    ) -> Result<Asked, ActionTrouble> {
        let tells_apart = self.change.asked_by().any(|asked| asked.tells_offers_apart());
        if !tells_apart && !offer.options.is_empty() {
            return Err(ActionTrouble::WholeListing);
        }
        let fill = Filling { offer, found, sku, no_sku: self.change.no_sku.as_deref() };
        let change = self.request(&fill)?;
        let wanted = answer::wanted(&self.change.answer, &fill)?;
        let is_secret = |text: &str| self.reader.client.is_told_by(text);
        self.kept = None;
        Ok(match self.reader.client.change(&change).await? {
            Told::Done(body) => match answer::differs(&wanted, body.as_ref(), &is_secret) {
                None => Asked::Confirmed,
                Some(how) => Asked::Otherwise(how),
            },
            Told::Unreadable(trouble) => Asked::Otherwise(trouble.to_string()),
            Told::Refused(status) => Asked::Refused(refused(status)),
            Told::NotKnown(Unsure::Trouble(trouble)) => Asked::NotKnown(trouble.to_string()),
            Told::NotKnown(Unsure::Status(status)) if (300..400).contains(&status) => Asked::NotKnown(
                format!("the answer leads elsewhere (status {status}), and a change is not sent on"),
            ),
            Told::NotKnown(Unsure::Status(status)) => {
                Asked::NotKnown(format!("the answer says nothing that is understood (status {status})"))
            }
        })
    }

    /// The request of a change.
    fn request(&self, fill: &dyn Fill) -> Result<Change, ActionTrouble> {
        let declared = &self.change;
        let mut address: Url = self.reader.service.address.clone();
        declared.path.append_to(&mut address, fill)?;
        for (name, value) in &declared.query {
            address.query_pairs_mut().append_pair(name, &value.filled(fill)?);
        }
        let method = match declared.method {
            "PATCH" => Method::PATCH,
            "POST" => Method::POST,
            _ => Method::PUT,
        };
        let body = declared.body.as_ref().map(|body| {
            let bytes = body.filled(fill)?.to_string().into_bytes();
            Ok::<_, NoValue>((declared.content_type.clone(), bytes))
        });
        Ok(Change { method, address, body: body.transpose()? })
    }
}

/// What a status says that refuses: a clause.
fn refused(status: u16) -> String {
    let why = match status {
        403 => "; the sign-in may not be allowed to change offers",
        404 | 410 => "; there is no such offer, or path is wrong",
        405 => "; method or path is wrong",
        409 | 412 => "; the offer was changed by somebody else, or is being changed",
        415 => "; content_type is wrong",
        400 | 422 => "; it does not take the body, or not this SKU",
        _ => "",
    };
    format!("the storefront refused the change (status {status}){why}")
}
