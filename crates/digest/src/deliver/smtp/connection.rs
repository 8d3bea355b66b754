//! Makes the connection to a mail server, encrypted before anything is said that matters.
//!
//! Must not know mails. Start reading at [`open`].

use std::sync::Arc;

use rustls::ClientConfig;
use rustls::pki_types::ServerName;
use tokio::net::TcpStream;
use tokio_rustls::TlsConnector;

use super::dialogue::{Dialogue, Wire};
use super::trouble::{Stage, Trouble};
use crate::deliver::mail_server::{Encryption, MailServer};

/// Connects, encrypts, and answers what the server can do then.
pub(super) async fn open(
    server: &MailServer,
    client: Option<Arc<ClientConfig>>,
    stage: &mut Stage,
) -> Result<(Dialogue, Vec<String>), Trouble> {
    let connected = TcpStream::connect((server.host(), server.port())).await;
    let plain = connected.map_err(|error| Trouble::Unreachable(error.to_string()))?;
    // A mail is some small commands, each of which waits for an answer.
    let _ = plain.set_nodelay(true);
    let Some(client) = client else {
        return greeted(Dialogue::over(plain)).await;
    };
    *stage = Stage::Encryption;
    if server.encryption() != Encryption::StartTls {
        return greeted(encrypted(plain, client, server).await?).await;
    }
    // Source: RFC 3207, section 4. What the server can do is forgotten, and whatever was said along with its reply, in the
    // open, is not taken for what it says later (CVE-2011-0411 is this the other way round).
    let (mut plain, extensions) = greeted(Dialogue::over(plain)).await?;
    if !extensions.iter().any(|line| line.trim().eq_ignore_ascii_case("STARTTLS")) {
        return Err(Trouble::NoEncryption);
    }
    plain.command("STARTTLS", 2).await?;
    let mut dialogue = encrypted(plain.into_wire()?, client, server).await?;
    let extensions = dialogue.extensions().await?;
    Ok((dialogue, extensions))
}

async fn greeted(mut dialogue: Dialogue) -> Result<(Dialogue, Vec<String>), Trouble> {
    dialogue.greeting().await?;
    let extensions = dialogue.extensions().await?;
    Ok((dialogue, extensions))
}

async fn encrypted(
    wire: impl Wire + 'static,
    client: Arc<ClientConfig>,
    server: &MailServer,
) -> Result<Dialogue, Trouble> {
    let name = ServerName::try_from(server.host().to_owned())
        .map_err(|_| Trouble::Unreachable("its name cannot be in a certificate".to_owned()))?;
    let encrypted = TlsConnector::from(client).connect(name, wire).await;
    Ok(Dialogue::over(encrypted.map_err(|error| Trouble::not_encrypted(&error))?))
}
