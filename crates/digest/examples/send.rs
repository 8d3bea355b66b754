//! Sends one message once: what and where to is read from standard input as JSON, what came of it is written to standard
//! output as JSON.
//!
//! It is how `cargo xtask mail` has something to look at. Start reading at [`Order`].

use std::error::Error;
use std::io::{Read as _, stdin};

use chrono::{DateTime, Utc};
use digest::deliver::{
    Encryption, MailAddress, MailServer, Message, Sending, SigningSecret, Smtp, Unfit, WebAddress, Webhook,
};
use secrecy::SecretString;
use serde::Deserialize;
use serde_json::json;

/// What is to be done.
#[derive(Deserialize)]
struct Order {
    message: Message,
    destination: Destination,
}

#[derive(Deserialize)]
#[serde(rename_all = "snake_case")]
enum Destination {
    Mail {
        address: String,
        /// STARTTLS, where the address says nothing of it.
        starttls: bool,
        /// A certificate to trust, in PEM.
        root: Option<String>,
        user: String,
        password: String,
        from: String,
        to: String,
    },
    Events {
        address: String,
        source: String,
        secret: String,
        /// The time of this try.
        #[serde(with = "chrono::serde::ts_seconds")]
        at: DateTime<Utc>,
    },
}

#[tokio::main(flavor = "current_thread")]
#[expect(clippy::print_stdout, reason = "its answer")]
async fn main() -> Result<(), Box<dyn Error>> {
    let mut text = String::new();
    stdin().read_to_string(&mut text)?;
    let order: Order = serde_json::from_str(&text)?;
    let answer = match sent(order).await? {
        Sending::Sent { answer } => json!({ "sent": answer }),
        Sending::TryAgain { why, after } => {
            json!({ "try_again": why, "after": after.map(|span| span.as_secs()) })
        }
        Sending::GiveUp { why } => json!({ "give_up": why }),
    };
    println!("{answer}");
    Ok(())
}

async fn sent(Order { message, destination }: Order) -> Result<Sending, Unfit> {
    match destination {
        Destination::Mail { address, starttls, root, user, password, from, to } => {
            let mut server = MailServer::parse(&address)?.signed_in(&user, SecretString::from(password))?;
            if starttls {
                server = server.encrypted_by(Encryption::StartTls)?;
            }
            if let Some(root) = root {
                server = server.trusting(root.as_bytes())?;
            }
            let smtp = Smtp::new(server, MailAddress::parse(&from)?)?;
            Ok(smtp.send(&message, &MailAddress::parse(&to)?).await)
        }
        Destination::Events { address, source, secret, at } => {
            let secrets = vec![SigningSecret::parse(&secret)?];
            let webhook = Webhook::events(WebAddress::parse(&address)?, &source, secrets)?;
            Ok(webhook.send(&message, at).await)
        }
    }
}
