//! json-server: installed by name, started as a child on loopback, told of changes, and ended with its handle.
//!
//! Must not know what it serves. Start reading at [`Server::start`].

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{Ipv4Addr, SocketAddr, TcpStream};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc::{Receiver, channel};
use std::thread;
use std::time::Duration;

use anyhow::{Context, ensure};
use serde_json::Value;

use super::tables::Told;
use crate::npm::Package;

/// As what it is installed. Its next version pages otherwise.
const JSON_SERVER: Package =
    Package { name: "json-server", version: "0.17.4", folder: "rest-server", node: "12 or later" };

/// How long it may take until it answers, and to answer.
const ANSWERING: Duration = Duration::from_secs(30);

/// The program that starts it.
const PROGRAM: &str = include_str!("server.js");

/// A running server; it ends when this is dropped.
pub struct Server {
    child: Child,
    port: u16,
    /// What it was asked, such as `GET /orders?_page=2`.
    asked: Receiver<String>,
}

impl Server {
    /// Starts it on a file with its records.
    ///
    /// # Errors
    /// Where it cannot be installed or started, or does not say in time that it is ready.
    pub fn start(records: &Path) -> anyhow::Result<Self> {
        let mut child = Command::new("node")
            .args(["-e", PROGRAM])
            .arg(records)
            .current_dir(JSON_SERVER.installed()?)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .context("node could not be started")?;
        let (asked, lines) = channel();
        let output = child.stdout.take();
        // From here on it is ended whatever happens.
        let mut server = Self { child, port: 0, asked: lines };
        let output = output.context("what json-server says cannot be read")?;
        thread::spawn(move || {
            for line in BufReader::new(output).lines().map_while(Result::ok) {
                if asked.send(line).is_err() {
                    break;
                }
            }
        });
        let port = server.asked.recv_timeout(ANSWERING);
        let port = port.context("json-server did not say in time on which port it listens")?;
        server.port =
            port.parse().with_context(|| format!("json-server said {port:?} instead of its port"))?;
        Ok(server)
    }

    /// Where it is.
    pub fn address(&self) -> String {
        format!("http://{}/", self.socket())
    }

    /// What it was asked since this was called last.
    pub fn asked(&self) -> Vec<String> {
        self.asked.try_iter().collect()
    }

    /// Waits until it was asked so often since [`Server::asked`] was called last.
    ///
    /// # Errors
    /// Where it is not asked any more before.
    pub fn wait_for(&self, requests: usize) -> anyhow::Result<()> {
        for number in 1..=requests {
            let asked = self.asked.recv_timeout(ANSWERING);
            asked.with_context(|| format!("json-server was asked {} times and not again", number - 1))?;
        }
        Ok(())
    }

    /// Tells it of a change.
    ///
    /// # Errors
    /// Where it does not take it.
    pub fn tell(&self, told: &Told) -> anyhow::Result<()> {
        let Told { method, path, body } = told;
        let status = self.ask(method, path, body).with_context(|| format!("{method} {path} failed"))?;
        ensure!(status.starts_with("HTTP/1.1 2"), "{method} {path} was answered with {status:?}");
        Ok(())
    }

    /// Asks it something, and answers the first line of what it says.
    fn ask(&self, method: &str, path: &str, body: &Value) -> anyhow::Result<String> {
        let body = body.to_string();
        let mut connection = TcpStream::connect_timeout(&self.socket(), ANSWERING)?;
        connection.set_read_timeout(Some(ANSWERING))?;
        connection.set_write_timeout(Some(ANSWERING))?;
        write!(
            connection,
            "{method} {path} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\nContent-Type: application/json\r\n\
             Content-Length: {}\r\n\r\n{body}",
            self.socket(),
            body.len(),
        )?;
        let mut answer = Vec::new();
        connection.read_to_end(&mut answer)?;
        let answer = String::from_utf8_lossy(&answer);
        Ok(answer.lines().next().unwrap_or_default().to_owned())
    }

    fn socket(&self) -> SocketAddr {
        (Ipv4Addr::LOCALHOST, self.port).into()
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        // It may have ended by itself.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
