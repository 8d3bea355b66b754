//! One request over one connection: as little of HTTP/1.1 as the tests need, so that broken answers can be seen.

use std::io;
use std::net::SocketAddr;
use std::time::Duration;

use serde_json::Value;
use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;
use tokio::time::timeout;

/// No request of a test takes longer.
const LONGEST: Duration = Duration::from_secs(20);

#[derive(Debug)]
pub struct Answer {
    pub status: u16,
    headers: Vec<(String, String)>,
    pub body: Vec<u8>,
}

impl Answer {
    pub fn header(&self, name: &str) -> Option<&str> {
        let found = self.headers.iter().find(|(there, _)| there.eq_ignore_ascii_case(name));
        found.map(|(_, value)| value.as_str())
    }

    pub fn json(&self) -> Option<Value> {
        serde_json::from_slice(&self.body).ok()
    }
}

/// Asks for a path with its query.
pub async fn get(address: SocketAddr, path: &str, headers: &[(String, String)]) -> io::Result<Answer> {
    let head = format!("GET {path} HTTP/1.1\r\n");
    timeout(LONGEST, exchange(address, head, headers, "")).await.map_err(io::Error::other)?
}

/// Asks for a change.
pub async fn put(
    address: SocketAddr,
    path: &str,
    headers: &[(String, String)],
    body: &str,
) -> io::Result<Answer> {
    let head = format!("PUT {path} HTTP/1.1\r\nContent-Length: {}\r\n", body.len());
    timeout(LONGEST, exchange(address, head, headers, body)).await.map_err(io::Error::other)?
}

async fn exchange(
    address: SocketAddr,
    head: String,
    headers: &[(String, String)],
    body: &str,
) -> io::Result<Answer> {
    let mut request = format!("{head}Host: {address}\r\nConnection: close\r\n");
    for (name, value) in headers {
        request.push_str(&format!("{name}: {value}\r\n"));
    }
    request.push_str("\r\n");
    request.push_str(body);
    let mut stream = TcpStream::connect(address).await?;
    stream.write_all(request.as_bytes()).await?;
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer).await?;

    let end = answer.windows(4).position(|four| four == b"\r\n\r\n");
    let end = end.ok_or_else(|| io::Error::from(io::ErrorKind::UnexpectedEof))?;
    let head = String::from_utf8_lossy(&answer[..end]).into_owned();
    let mut lines = head.lines();
    let status = lines.next().and_then(|line| line.split(' ').nth(1)).and_then(|code| code.parse().ok());
    let headers: Vec<(String, String)> = lines
        .filter_map(|line| line.split_once(": "))
        .map(|(name, value)| (name.to_owned(), value.to_owned()))
        .collect();
    let answer = Answer { status: status.unwrap_or(0), headers, body: answer[end + 4..].to_vec() };
    let length = answer.header("content-length").and_then(|length| length.parse().ok());
    assert_eq!(length, Some(answer.body.len()), "the length is told and right");
    Ok(answer)
}
