//! What is declared of changing a SKU: how it is asked, what the answer looks like, and how one offer is read again.
//!
//! [`ChangeSku`] is checked: every placeholder in it stands for something, and it says both which offer is meant and
//! which SKU it is to have. Must not know the network. Start reading at [`ChangeSku`]; `form` has the texts with
//! placeholders, `keys` what the configuration writes.

mod form;
mod keys;

use model::Options;
use serde_json::{Map, Value, json};

pub use form::NoValue;
pub(crate) use form::{Fill, Form, Placeholder, Text};
pub(super) use keys::{AnswerKeys, ChangeSkuKeys, ReadKeys};

use super::at::At;
use super::{Request, Service};
use crate::source::mapping::ParentRow;

/// How the SKU of one offer is changed, and how that offer is read again.
#[derive(Clone, Debug)]
pub struct ChangeSku {
    /// `PUT`, `PATCH` or `POST`.
    pub method: &'static str,
    pub(crate) path: Text,
    pub(crate) query: Vec<(String, Text)>,
    /// `None`: the request has no body.
    pub(crate) body: Option<Form>,
    /// What the body is said to be.
    pub(crate) content_type: String,
    /// What stands for a SKU where there is none; `None`: null.
    pub(crate) no_sku: Option<String>,
    /// What is taken from the storefront's own record of an offer, by name.
    pub(crate) record: Vec<(String, FromRecord)>,
    pub(crate) answer: Answer,
    pub(crate) reads: Reads,
}

/// A value of the storefront's own record.
#[derive(Clone, Debug)]
pub(crate) struct FromRecord {
    /// How many lists further out the record stands; 0: it is that of the offer itself.
    pub(crate) around: usize,
    pub(crate) at: At,
}

/// What an answer must look like that says that it was done.
#[derive(Clone, Debug)]
pub(crate) enum Answer {
    /// It has no body.
    Empty,
    /// It is JSON in which these stand; at least one.
    Looks(Vec<(At, Form)>),
}

/// How one offer is read again.
#[derive(Clone, Debug)]
pub(crate) enum Reads {
    /// By a request for it, in whose address stand `listing_id`, `options` and `option.NAME`.
    One(Box<Request>),
    /// By these requests, which bring all offers.
    All(Vec<Request>),
}

/// A change as it would be asked, of an offer that stands for any.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Rendered {
    /// The path and the parameters, below the address of the source.
    pub target: String,
    /// The body, where it has one.
    pub body: Option<String>,
    /// What the answer must say: where, and what. None: the answer has no body.
    pub answer: Vec<(String, String)>,
    /// The path and the parameters by which one offer is read again; `None`: all offers are read for it.
    pub read: Option<String>,
}

/// The values of an offer that stands for any.
struct Sample<'c> {
    change: &'c ChangeSku,
}

impl Sample<'_> {
    const LISTING: &'static str = "1001";
    const OPTIONS: [(&'static str, &'static str); 2] = [("Colour", "Plum red"), ("Size", "M/L")];
}

impl Fill for Sample<'_> {
    fn value(&self, placeholder: &Placeholder) -> Result<Value, NoValue> {
        Ok(match placeholder {
            Placeholder::ListingId => json!(Self::LISTING),
            Placeholder::Options => {
                let names = self.change.option_names();
                let named = names.iter().map(|name| ((*name).to_owned(), json!("M/L")));
                let named: Map<String, Value> = named.collect();
                if named.is_empty() {
                    Self::OPTIONS.iter().map(|(name, value)| ((*name).to_owned(), json!(value))).collect()
                } else {
                    Value::Object(named)
                }
            }
            Placeholder::Option(_) => json!("M/L"),
            Placeholder::Sku => json!("NEW-SKU"),
            Placeholder::OldSku => json!("OLD-SKU"),
            Placeholder::Record(name) => json!(format!("({name})")),
        })
    }
}

impl ChangeSku {
    /// The placeholders of the request that changes.
    pub(crate) fn asked_by(&self) -> impl Iterator<Item = &Placeholder> {
        let query = self.query.iter().flat_map(|(_, value)| value.placeholders());
        let body = self.body.iter().flat_map(Form::placeholders);
        self.path.placeholders().chain(query).chain(body)
    }

    /// The names of the options that stand in it by themselves.
    fn option_names(&self) -> Vec<&str> {
        let names = self.asked_by().filter_map(|placeholder| match placeholder {
            Placeholder::Option(name) => Some(name.as_str()),
            _ => None,
        });
        names.collect()
    }

    /// The change as it would be asked, of an offer that stands for any.
    ///
    /// # Errors
    /// [`NoValue`] where the sample cannot stand in an address.
    pub fn sample(&self, service: &Service) -> Result<Rendered, NoValue> {
        let fill = Sample { change: self };
        let mut url = service.address.clone();
        self.path.append_to(&mut url, &fill)?;
        for (name, value) in &self.query {
            // A secret may have been typed into what is always the same.
            let is_open = value.placeholders().next().is_some();
            let value = if is_open { value.filled(&fill)? } else { "...".to_owned() };
            url.query_pairs_mut().append_pair(name, &value);
        }
        let body = self.body.as_ref().map(|body| body.filled(&fill)).transpose()?;
        let answer = match &self.answer {
            Answer::Empty => Vec::new(),
            Answer::Looks(wanted) => {
                let said = |(at, is): &(At, Form)| Ok((at.to_string(), is.filled(&fill)?.to_string()));
                wanted.iter().map(said).collect::<Result<_, NoValue>>()?
            }
        };
        let read = match &self.reads {
            Reads::All(_) => None,
            Reads::One(request) => {
                let pairs = Sample::OPTIONS.map(|(name, value)| (name.to_owned(), value.to_owned()));
                let named = request.named_options().map(|name| (name.to_owned(), "M/L".to_owned()));
                let named: Vec<(String, String)> = named.collect();
                let pairs = if named.is_empty() { pairs.to_vec() } else { named };
                let options = Options::from_pairs(pairs).unwrap_or_default();
                let row = request.row_of_offer(Sample::LISTING, &options);
                let url = service.url(request, Some(&row)).map_err(NoValue::NoAddress)?;
                Some(below(&service.address, &url))
            }
        };
        Ok(Rendered {
            target: below(&service.address, &url),
            body: body.map(|body| body.to_string()),
            answer,
            read,
        })
    }
}

impl Request {
    /// The names in its path and its parameters.
    pub(super) fn columns(&self) -> impl Iterator<Item = &str> {
        self.path.columns().chain(self.query.iter().flat_map(|(_, value)| value.columns()))
    }

    /// The options that stand in its address by themselves.
    fn named_options(&self) -> impl Iterator<Item = &str> {
        self.columns().filter_map(|name| name.strip_prefix("option."))
    }

    /// What a request for one offer knows of it.
    pub(crate) fn row_of_offer(&self, listing: &str, options: &Options) -> ParentRow {
        let object = object_of(options).to_string();
        let named = self.named_options().filter_map(|name| {
            let value = option_of(options, name).filter(|value| !value.is_empty())?;
            Some((format!("option.{name}"), value))
        });
        let named: Vec<(String, &str)> = named.collect();
        let named = named.iter().map(|(name, value)| (name.as_str(), *value));
        ParentRow::new("offers", named.chain([("listing_id", listing), ("options", object.as_str())]))
    }
}

/// An address as it goes on from that of the source.
fn below(base: &url::Url, url: &url::Url) -> String {
    url.as_str().strip_prefix(base.as_str()).unwrap_or(url.as_str()).to_owned()
}

/// The options of an offer, as an object.
pub(crate) fn object_of(options: &Options) -> Value {
    let object: Map<String, Value> =
        options.iter().map(|(name, value)| (name.to_owned(), Value::String(value.to_owned()))).collect();
    Value::Object(object)
}

/// The value of an option, by its name as it is compared.
pub(crate) fn option_of<'o>(options: &'o Options, name: &str) -> Option<&'o str> {
    let wanted = model::text::fold(name);
    let mut folded = options.folded().zip(options.iter());
    folded.find(|((name, _), _)| *name == wanted).map(|(_, (_, value))| value)
}
