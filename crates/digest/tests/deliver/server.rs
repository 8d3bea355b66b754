//! A scripted mail server on a free port of loopback: it says what a test has it say, and keeps what it hears.
//!
//! It is small, and no judge of what is right: that is what the other readers are for. Start reading at [`Server::start`].

use std::net::{Ipv4Addr, SocketAddr};
use std::sync::{Arc, Mutex};

use digest::deliver::{Encryption, MailServer};
use rcgen::{BasicConstraints, CertificateParams, CertifiedIssuer, DnType, IsCa, KeyPair};
use rustls::ServerConfig;
use rustls::crypto::ring;
use rustls::pki_types::{PrivateKeyDer, PrivatePkcs8KeyDer};
use tokio::io::{AsyncBufRead, AsyncBufReadExt as _, AsyncWrite, AsyncWriteExt as _, BufReader};
use tokio::net::{TcpListener, TcpStream};
use tokio::task::JoinHandle;
use tokio_rustls::TlsAcceptor;

/// What it says at some point instead of what a good server says.
#[derive(Clone, Copy, Debug)]
pub enum Answer {
    /// This, which ends its lines itself.
    Says(&'static str),
    /// Nothing, and it holds the connection.
    Silent,
    /// Nothing, and it ends the connection.
    Cut,
}

pub use Answer::{Cut, Says, Silent};

/// How it behaves; a point is a verb, `GREETING`, or `CONTENT` for after the mail.
#[derive(Clone)]
pub struct Script {
    pub encryption: Encryption,
    pub offers_starttls: bool,
    /// Which ways to sign in it offers.
    pub login: &'static str,
    pub answers: &'static [(&'static str, Answer)],
}

impl Default for Script {
    fn default() -> Self {
        Self { encryption: Encryption::None, offers_starttls: true, login: "", answers: &[] }
    }
}

/// What it has heard.
#[derive(Default, Debug)]
pub struct Heard {
    /// Every command, with whether it was encrypted.
    pub commands: Vec<(String, bool)>,
    /// The mails that came in whole, without the dots of the protocol.
    pub mails: Vec<Vec<u8>>,
}

/// A running server; it ends when this is dropped.
pub struct Server {
    pub socket: SocketAddr,
    /// The certificate that signs its own, in PEM.
    pub root: String,
    script: Script,
    heard: Arc<Mutex<Heard>>,
    running: JoinHandle<()>,
}

impl Drop for Server {
    fn drop(&mut self) {
        self.running.abort();
    }
}

impl Server {
    pub async fn start(script: Script) -> Self {
        Self::named(script, "localhost").await
    }

    /// One whose certificate has this name.
    pub async fn named(script: Script, name: &str) -> Self {
        let (root, config) = certified(name);
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).await.unwrap();
        let socket = listener.local_addr().unwrap();
        let heard = Arc::new(Mutex::new(Heard::default()));
        let (for_sessions, of_sessions) = (script.clone(), heard.clone());
        let running = tokio::spawn(async move {
            while let Ok((stream, _)) = listener.accept().await {
                let session = Session {
                    script: for_sessions.clone(),
                    heard: of_sessions.clone(),
                    acceptor: TlsAcceptor::from(config.clone()),
                };
                tokio::spawn(session.run(stream));
            }
        });
        Self { socket, root, script, heard, running }
    }

    /// As a destination, trusted.
    pub fn destination(&self) -> MailServer {
        self.untrusted().trusting(self.root.as_bytes()).unwrap()
    }

    pub fn untrusted(&self) -> MailServer {
        let address = format!("smtp://localhost:{}", self.socket.port());
        MailServer::parse(&address).unwrap().encrypted_by(self.script.encryption).unwrap()
    }

    pub fn commands(&self) -> Vec<String> {
        self.heard.lock().unwrap().commands.iter().map(|(command, _)| command.clone()).collect()
    }

    /// The commands that came in the open.
    pub fn commands_in_the_open(&self) -> Vec<String> {
        let heard = self.heard.lock().unwrap();
        heard
            .commands
            .iter()
            .filter(|(_, is_encrypted)| !is_encrypted)
            .map(|(text, _)| text.clone())
            .collect()
    }

    pub fn mails(&self) -> Vec<Vec<u8>> {
        self.heard.lock().unwrap().mails.clone()
    }
}

/// A certificate for a name, signed by another, which is answered in PEM.
fn certified(name: &str) -> (String, Arc<ServerConfig>) {
    let mut params = CertificateParams::new(Vec::new()).unwrap();
    let name_of_root = format!("Root of {name}");
    params.distinguished_name.push(DnType::CommonName, name_of_root);
    params.is_ca = IsCa::Ca(BasicConstraints::Unconstrained);
    let root = CertifiedIssuer::self_signed(params, KeyPair::generate().unwrap()).unwrap();
    let key = KeyPair::generate().unwrap();
    let own = CertificateParams::new(vec![name.to_owned()]).unwrap().signed_by(&key, &root).unwrap();
    let key = PrivateKeyDer::Pkcs8(PrivatePkcs8KeyDer::from(key.serialize_der()));
    let config = ServerConfig::builder_with_provider(Arc::new(ring::default_provider()))
        .with_safe_default_protocol_versions()
        .unwrap()
        .with_no_client_auth()
        .with_single_cert(vec![own.der().clone()], key)
        .unwrap();
    (root.pem(), Arc::new(config))
}

struct Session {
    script: Script,
    heard: Arc<Mutex<Heard>>,
    acceptor: TlsAcceptor,
}

/// Why a part of a session is over.
enum Over {
    Ended,
    StartTls,
}

impl Session {
    async fn run(self, stream: TcpStream) {
        if self.script.encryption == Encryption::Implicit {
            if let Ok(stream) = self.acceptor.accept(stream).await {
                self.serve(BufReader::new(stream), true, true).await;
            }
            return;
        }
        let mut plain = BufReader::new(stream);
        if let Over::StartTls = self.serve(&mut plain, false, true).await
            && let Ok(stream) = self.acceptor.accept(plain.into_inner()).await
        {
            self.serve(BufReader::new(stream), true, false).await;
        }
    }

    async fn serve<S>(&self, mut stream: S, is_encrypted: bool, greets: bool) -> Over
    where
        S: AsyncBufRead + AsyncWrite + Unpin,
    {
        if greets && !self.answer(&mut stream, "GREETING", "220 mail.test ready\r\n").await {
            return Over::Ended;
        }
        loop {
            let Some(line) = line(&mut stream).await else { return Over::Ended };
            let command = String::from_utf8(line).unwrap().trim_end().to_owned();
            self.heard.lock().unwrap().commands.push((command.clone(), is_encrypted));
            let verb = command.split(' ').next().unwrap().to_owned();
            let good = match verb.as_str() {
                "EHLO" => self.extensions(is_encrypted),
                "STARTTLS" => "220 go ahead\r\n".to_owned(),
                "AUTH" => "235 2.7.0 welcome\r\n".to_owned(),
                "DATA" => "354 go ahead\r\n".to_owned(),
                "QUIT" => "221 bye\r\n".to_owned(),
                _ => "250 2.0.0 well\r\n".to_owned(),
            };
            if !self.answer(&mut stream, &verb, &good).await || verb == "QUIT" {
                return Over::Ended;
            }
            if verb == "STARTTLS" {
                return Over::StartTls;
            }
            if verb == "DATA" && self.scripted("DATA").is_none() {
                let Some(mail) = mail(&mut stream).await else { return Over::Ended };
                self.heard.lock().unwrap().mails.push(mail);
                if !self.answer(&mut stream, "CONTENT", "250 2.0.0 kept as K-1\r\n").await {
                    return Over::Ended;
                }
            }
        }
    }

    fn extensions(&self, is_encrypted: bool) -> String {
        let mut extensions = "250-mail.test\r\n".to_owned();
        if self.script.encryption == Encryption::StartTls && self.script.offers_starttls && !is_encrypted {
            extensions += "250-STARTTLS\r\n";
        }
        let login = self.script.login;
        if !login.is_empty() {
            // Some of old write `AUTH=LOGIN`.
            extensions += &format!("250-AUTH{}{login}\r\n", if login.starts_with('=') { "" } else { " " });
        }
        extensions + "250 SIZE 10000000\r\n"
    }

    fn scripted(&self, point: &str) -> Option<Answer> {
        self.script.answers.iter().find(|(at, _)| *at == point).map(|(_, answer)| *answer)
    }

    /// Whether the session goes on.
    async fn answer(&self, stream: &mut (impl AsyncWrite + Unpin), point: &str, good: &str) -> bool {
        let said = match self.scripted(point) {
            None => good,
            Some(Says(said)) => said,
            Some(Silent) => return std::future::pending().await,
            Some(Cut) => return false,
        };
        stream.write_all(said.as_bytes()).await.is_ok() && stream.flush().await.is_ok()
    }
}

async fn line(stream: &mut (impl AsyncBufRead + Unpin)) -> Option<Vec<u8>> {
    let mut line = Vec::new();
    let length = stream.read_until(b'\n', &mut line).await.ok()?;
    (length > 0).then_some(line)
}

/// The mail up to the final dot. Source: RFC 5321, 4.5.2.
async fn mail(stream: &mut (impl AsyncBufRead + Unpin)) -> Option<Vec<u8>> {
    let mut mail = Vec::new();
    loop {
        let line = line(stream).await?;
        assert!(line.ends_with(b"\r\n"), "a line ends in a bare line feed");
        match line.strip_prefix(b".") {
            Some(b"\r\n") => return Some(mail),
            Some(rest) => mail.extend_from_slice(rest),
            None => mail.extend_from_slice(&line),
        }
    }
}
