//! What can be asked for: a table, of which the router and the document of the JSON are both made.
//!
//! Must not know what is answered. Start reading at [`Route`].

use std::pin::Pin;

use axum::http::Method;
use schemars::{JsonSchema, Schema, SchemaGenerator};

use crate::asked::Parameter;
use crate::problem::Problem;
use crate::reply::Reply;
use crate::visit::Visit;

/// What comes of a visit, in time.
pub type Replying = Pin<Box<dyn Future<Output = Result<Reply, Problem>> + Send>>;

/// Makes the schema of a view.
pub type SchemaOf = fn(&mut SchemaGenerator) -> Schema;

/// Who may ask for something; the later, the more.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum May {
    /// Anybody who reaches the server.
    Anybody,
    /// Who may look.
    Look,
    /// Who may also change something.
    Act,
}

/// In which form it is asked and answered.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Form {
    /// A page; a form's fields come in, where it is posted.
    Page,
    /// JSON, in and out.
    Json,
    /// Something else, of which there is no other form.
    Other,
}

/// Something that can be asked for.
pub struct Route {
    /// How.
    pub method: Method,
    /// Where, with `{name}` for the parts that are parameters.
    pub path: &'static str,
    /// In which form.
    pub form: Form,
    /// By whom.
    pub may: May,
    /// What it is for, in a sentence.
    pub says: &'static str,
    /// What stands in the path.
    pub places: &'static [Parameter],
    /// What may stand behind the question mark.
    pub parameters: &'static [Parameter],
    /// The fields of a form that is posted.
    pub fields: &'static [Parameter],
    /// What a JSON body has to be.
    pub body: Option<SchemaOf>,
    /// What is answered.
    pub answer: Option<SchemaOf>,
    /// The most bytes of a body.
    pub most: usize,
    /// Whether files come in: the form is not read before it is known to be ours, and then by the route, as it comes.
    pub takes_files: bool,
    /// Does it.
    pub run: fn(Visit) -> Replying,
}

/// The most bytes of a body where nothing else is said: a note and the other fields of a form.
pub const BODY: usize = 16 * 1024;

impl Route {
    fn new(method: Method, path: &'static str, form: Form, may: May, run: fn(Visit) -> Replying) -> Self {
        Self {
            method,
            path,
            form,
            may,
            says: "",
            places: &[],
            parameters: &[],
            fields: &[],
            body: None,
            answer: None,
            most: BODY,
            takes_files: false,
            run,
        }
    }

    /// A page.
    pub fn page(path: &'static str, run: fn(Visit) -> Replying) -> Self {
        Self::new(Method::GET, path, Form::Page, May::Look, run)
    }

    /// What a form of a page posts.
    pub fn post(path: &'static str, fields: &'static [Parameter], run: fn(Visit) -> Replying) -> Self {
        Self { fields, ..Self::new(Method::POST, path, Form::Page, May::Act, run) }
    }

    /// Something in JSON.
    pub fn json(method: Method, path: &'static str, says: &'static str, run: fn(Visit) -> Replying) -> Self {
        Self { says, ..Self::new(method, path, Form::Json, May::Look, run) }
    }

    /// Something else.
    pub fn other(path: &'static str, says: &'static str, run: fn(Visit) -> Replying) -> Self {
        Self { says, ..Self::new(Method::GET, path, Form::Other, May::Look, run) }
    }

    /// For these alone.
    pub fn for_those_who(self, may: May) -> Self {
        Self { may, ..self }
    }

    /// With parts of the path that are parameters.
    pub fn at(self, places: &'static [Parameter]) -> Self {
        Self { places, ..self }
    }

    /// With parameters.
    pub fn with(self, parameters: &'static [Parameter]) -> Self {
        Self { parameters, ..self }
    }

    /// That takes a JSON body.
    pub fn takes<T: JsonSchema>(self) -> Self {
        Self { body: Some(SchemaGenerator::subschema_for::<T>), ..self }
    }

    /// That answers a view.
    pub fn answers<T: JsonSchema>(self) -> Self {
        Self { answer: Some(SchemaGenerator::subschema_for::<T>), ..self }
    }

    /// To which files are posted, of so many bytes in all.
    pub fn files(path: &'static str, most: usize, run: fn(Visit) -> Replying) -> Self {
        Self { takes_files: true, ..Self::new(Method::POST, path, Form::Page, May::Act, run) }
            .of_at_most(most)
    }

    /// With bodies of so many bytes.
    pub fn of_at_most(self, most: usize) -> Self {
        Self { most, ..self }
    }
}
