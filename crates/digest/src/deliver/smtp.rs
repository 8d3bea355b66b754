//! Sends a message as a mail, over a connection of its own.
//!
//! Must not know what the mail says. Start reading at [`Smtp::send`]; `connection` makes the connection, `dialogue` speaks,
//! `trouble` says what came of it.

mod connection;
mod dialogue;
mod trouble;

use std::sync::Arc;
use std::time::Duration;

use rustls::ClientConfig;
use tokio::time::timeout;

use self::dialogue::{Dialogue, Reply};
use self::trouble::{Stage, Trouble};
use super::{MailAddress, MailServer, Message, Sending, Unfit, mime};

/// How long the parting word of a server is waited for; nothing hangs on it.
const PARTING: Duration = Duration::from_secs(3);

/// The largest mail. A digest has some 100 kB; this is far below what servers commonly take.
const MAX_MAIL_BYTES: usize = 5 * 1024 * 1024;

/// Sends mails by one server, from one sender.
#[derive(Clone, Debug)]
pub struct Smtp {
    server: MailServer,
    client: Option<Arc<ClientConfig>>,
    from: MailAddress,
}

impl Smtp {
    /// Sends by this server, from this sender.
    ///
    /// # Errors
    /// [`Unfit::NotPrepared`] where the system lacks what an encrypted connection takes.
    pub fn new(server: MailServer, from: MailAddress) -> Result<Self, Unfit> {
        Ok(Self { client: server.client()?, server, from })
    }

    /// The mail as it is sent: the same octets for the same message and recipient.
    pub fn mail(&self, message: &Message, to: &MailAddress) -> Vec<u8> {
        mime::mail(message, &self.from, to)
    }

    /// Sends it once, to one recipient.
    ///
    /// Refused for good (5xx) at the recipient or at the mail itself, it is given up. What is refused before that (the
    /// encryption, the certificate, the sign-in, the sender) is for the owner to mend and tried again, as is what a server
    /// calls temporary (4xx), and trouble on the way. Where the connection ends after the whole mail was sent, nobody knows,
    /// and it is tried again under the same identifier.
    pub async fn send(&self, message: &Message, to: &MailAddress) -> Sending {
        let mail = self.mail(message, to);
        if mail.len() > MAX_MAIL_BYTES {
            return Sending::never(format!(
                "the mail to {to} would have {} MB, and at most {} are sent; look at the page instead",
                mail.len().div_ceil(1024 * 1024),
                MAX_MAIL_BYTES / (1024 * 1024)
            ));
        }
        let mut stage = Stage::Connect;
        let whole = self.server.limits().whole;
        let sent = within(whole, self.try_once(&mail, to, &mut stage)).await;
        trouble::outcome(sent, stage, &self.server, &self.from, to, message)
    }

    async fn try_once(&self, mail: &[u8], to: &MailAddress, stage: &mut Stage) -> Result<Reply, Trouble> {
        let opened = connection::open(&self.server, self.client.clone(), stage);
        let (mut dialogue, extensions) = within(self.server.limits().connect, opened).await?;
        let sent = self.told(&mut dialogue, &extensions, mail, to, stage).await;
        if matches!(sent, Ok(_) | Err(Trouble::Refused(_))) {
            // It ends either way.
            let _ = timeout(PARTING, dialogue.command("QUIT", 2)).await;
        }
        sent
    }

    async fn told(
        &self,
        dialogue: &mut Dialogue,
        extensions: &[String],
        mail: &[u8],
        to: &MailAddress,
        stage: &mut Stage,
    ) -> Result<Reply, Trouble> {
        let limits = self.server.limits();
        if let Some(login) = self.server.login() {
            *stage = Stage::Login;
            within(limits.command, dialogue.sign_in(extensions, login)).await?;
        }
        *stage = Stage::Sender;
        let sender = format!("MAIL FROM:<{}>", self.from.address());
        within(limits.command, dialogue.command(&sender, 2)).await?;
        *stage = Stage::Recipient;
        let recipient = format!("RCPT TO:<{}>", to.address());
        within(limits.command, dialogue.command(&recipient, 2)).await?;
        *stage = Stage::Start;
        within(limits.command, dialogue.command("DATA", 3)).await?;
        *stage = Stage::Content;
        within(limits.content, dialogue.mail(mail)).await
    }
}

async fn within<T>(limit: Duration, asked: impl Future<Output = Result<T, Trouble>>) -> Result<T, Trouble> {
    timeout(limit, asked).await.unwrap_or(Err(Trouble::TimedOut(limit)))
}
