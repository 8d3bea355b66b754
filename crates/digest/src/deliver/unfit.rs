//! What is wrong with a value that a destination is to be made of.
//!
//! Must not know under which key it stands: whoever reads the configuration says where. Start reading at [`Unfit`].

use thiserror::Error;

/// A value that cannot be used. It is said what is wrong with it, never with a secret in it; [`Unfit::help`] says what to
/// do.
#[derive(Clone, PartialEq, Eq, Debug, Error)]
pub enum Unfit {
    /// It is no mail address.
    #[error("{0} is no mail address")]
    MailAddress(String),
    /// What stands before the @ cannot be sent to every mail server.
    #[error("{0} has letters before its @ that not every mail server takes")]
    MailLetters(String),
    /// It is no address of a mail server.
    #[error("{0} is no address of a mail server")]
    MailServer(String),
    /// A mail server's address has a user or a password in it.
    #[error("the address of the mail server has a user or a password in it")]
    SecretInAddress,
    /// The mail server would be talked to in the open.
    #[error("the mail server {0} is not on this machine, and its connection would not be encrypted")]
    MailInTheOpen(String),
    /// A user name or a password that cannot be sent.
    #[error("the {0} of the mail server is empty, or has a line break or another control character in it")]
    Login(&'static str),
    /// Not the certificates that they were taken for.
    #[error("the file of certificates holds {0}")]
    Certificates(&'static str),
    /// It is no web address.
    #[error("{0} is no web address")]
    WebAddress(String),
    /// A web address that would be asked in the open.
    #[error("{0} is not encrypted and not on this machine")]
    WebInTheOpen(String),
    /// A web address with a part that is not sent.
    #[error("{0} has {1} in it")]
    WebAddressPart(String, &'static str),
    /// A secret for signing that is none.
    #[error("the signing secret {0}")]
    SigningSecret(&'static str),
    /// Too few or too many secrets.
    #[error("{given} signing secrets are given")]
    SigningSecrets {
        /// How many.
        given: usize,
    },
    /// It cannot say where an event comes from.
    #[error("{0} cannot be the source of an event")]
    Source(String),
    /// The template is no JSON.
    #[error("the template is no JSON: {0}")]
    TemplateJson(String),
    /// The template has a placeholder that there is not.
    #[error("the template has the placeholder {{{given}}} at {place}, which there is not")]
    Placeholder {
        /// Its name.
        given: String,
        /// Where it stands, as a JSON Pointer.
        place: String,
        /// The one that may be meant.
        nearest: Option<&'static str>,
    },
    /// The template has a brace that begins or ends nothing.
    #[error("the template has a single {brace} at {place}")]
    Brace {
        /// Which.
        brace: char,
        /// Where it stands, as a JSON Pointer.
        place: String,
    },
    /// Of a message, the template shows nothing.
    #[error("the template shows neither {{subject}} nor {{text}}")]
    TemplateSaysNothing,
    /// A template is too large, or its texts are to be too short.
    #[error("{0}")]
    TemplateSize(String),
    /// The system lacks what it takes, certificates for instance.
    #[error("no connection can be prepared ({0})")]
    NotPrepared(String),
}

impl Unfit {
    /// What to do.
    pub fn help(&self) -> String {
        match self {
            Self::MailAddress(_) => {
                "write one address, such as owner@shop.example or \"Kittiwake Kitchen <owner@shop.example>\"".into()
            }
            Self::MailLetters(_) => "use an address whose part before the @ is in plain letters and digits".into(),
            Self::MailServer(_) => {
                "write smtps://mail.shop.example (encrypted from the beginning, port 465) or smtp://mail.shop.example \
                 (encrypted by STARTTLS, port 587), with :PORT where it is another"
                    .into()
            }
            Self::SecretInAddress => {
                "write the address without them; the user name and the password have keys of their own".into()
            }
            Self::MailInTheOpen(_) => {
                "use smtps:// or STARTTLS; a server on this machine alone may do without".into()
            }
            Self::Login(_) => "check that it is the right one, in one line".into(),
            Self::Certificates(_) => {
                "give a PEM file with -----BEGIN CERTIFICATE----- in it: that of whoever signed the server's certificate"
                    .into()
            }
            Self::WebAddress(_) | Self::WebInTheOpen(_) => {
                "write an address that begins with https:// (http:// on this machine alone)".into()
            }
            Self::WebAddressPart(_, part) => format!("write the address without {part}"),
            Self::SigningSecret(_) => {
                "use the secret as the receiver shows it: whsec_ and then 24 to 64 bytes in base64; `openssl rand -base64 32` \
                 makes one to put behind whsec_"
                    .into()
            }
            Self::SigningSecrets { .. } => {
                "give one, or while the receiver changes over, the new one and the old one".into()
            }
            Self::Source(_) => {
                "write an address or a path without blanks, such as https://shop.example/everyline".into()
            }
            Self::TemplateJson(_) => {
                "write the JSON that the chat room expects, such as {\"text\": \"{subject}\\n{text}\"}".into()
            }
            Self::Placeholder { nearest: Some(nearest), .. } => format!("did you mean {{{nearest}}}?"),
            Self::Placeholder { nearest: None, .. } => {
                "there are {subject}, {text}, {day} and {link}; write {{ and }} for braces that are to be seen".into()
            }
            Self::Brace { brace, .. } => format!("write {brace}{brace} for a {brace} that is to be seen"),
            Self::TemplateSaysNothing => "put {subject} or {text} where the room shows it".into(),
            Self::TemplateSize(_) => "make it smaller, or take the length that the room takes".into(),
            Self::NotPrepared(_) => "check that the system's certificates are installed (ca-certificates)".into(),
        }
    }
}
