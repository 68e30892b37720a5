//! A client of HTTP/1.1 that costs next to nothing, so that what is measured is the server.

use std::io::{Error, ErrorKind, Result};
use std::net::SocketAddr;

use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::TcpStream;

/// One kept-alive connection, and the body of the last answer.
pub struct Client {
    stream: TcpStream,
    received: Vec<u8>,
    filled: usize,
    pub body: Vec<u8>,
    pub head: String,
}

impl Client {
    pub async fn connect(address: SocketAddr) -> Result<Self> {
        let stream = TcpStream::connect(address).await?;
        stream.set_nodelay(true)?;
        Ok(Self { stream, received: vec![0; 16 * 1024], filled: 0, body: Vec::new(), head: String::new() })
    }

    /// Sends one request and waits for its whole answer; says its status.
    pub async fn exchange(&mut self, request: &[u8]) -> Result<u16> {
        self.stream.write_all(request).await?;
        let head_end = self.head().await?;
        let head =
            str::from_utf8(&self.received[..head_end]).map_err(|_| broken("a head that is no text"))?;
        let status = head
            .split(' ')
            .nth(1)
            .and_then(|s| s.parse().ok())
            .ok_or_else(|| broken("an answer without a status"))?;
        let length = header(head, "content-length").and_then(|l| l.parse::<usize>().ok());
        let chunked = header(head, "transfer-encoding").is_some_and(|t| t.eq_ignore_ascii_case("chunked"));
        self.head.clear();
        self.head.push_str(head);
        self.take(head_end);
        self.body.clear();
        match length {
            Some(length) => self.move_body(length).await?,
            None if chunked => self.chunks().await?,
            // 204 and 304 have none.
            None => {}
        }
        Ok(status)
    }

    pub async fn get(&mut self, path: &str, extra: &str) -> Result<u16> {
        self.exchange(format!("GET {path} HTTP/1.1\r\nHost: bench\r\n{extra}\r\n").as_bytes()).await
    }

    /// Reads until the empty line; says where the body begins.
    async fn head(&mut self) -> Result<usize> {
        loop {
            if let Some(at) = find(&self.received[..self.filled], b"\r\n\r\n") {
                return Ok(at + 4);
            }
            self.more().await?;
        }
    }

    async fn chunks(&mut self) -> Result<()> {
        loop {
            let end = loop {
                match find(&self.received[..self.filled], b"\r\n") {
                    Some(at) => break at,
                    None => self.more().await?,
                }
            };
            let size = str::from_utf8(&self.received[..end])
                .ok()
                .and_then(|line| usize::from_str_radix(line.split(';').next()?.trim(), 16).ok())
                .ok_or_else(|| broken("a chunk without a size"))?;
            self.take(end + 2);
            self.move_body(size + 2).await?;
            self.body.truncate(self.body.len() - 2);
            if size == 0 {
                return Ok(());
            }
        }
    }

    async fn move_body(&mut self, mut length: usize) -> Result<()> {
        while length > 0 {
            if self.filled == 0 {
                self.more().await?;
            }
            let here = length.min(self.filled);
            self.body.extend_from_slice(&self.received[..here]);
            self.take(here);
            length -= here;
        }
        Ok(())
    }

    async fn more(&mut self) -> Result<()> {
        if self.filled == self.received.len() {
            self.received.resize(self.filled * 2, 0);
        }
        let read = self.stream.read(&mut self.received[self.filled..]).await?;
        if read == 0 {
            return Err(Error::new(ErrorKind::UnexpectedEof, "the server closed the connection"));
        }
        self.filled += read;
        Ok(())
    }

    fn take(&mut self, count: usize) {
        self.received.copy_within(count..self.filled, 0);
        self.filled -= count;
    }
}

/// The value of a header, whatever its case.
pub fn header<'h>(head: &'h str, name: &str) -> Option<&'h str> {
    head.lines().skip(1).find_map(|line| {
        let (key, value) = line.split_once(':')?;
        key.eq_ignore_ascii_case(name).then(|| value.trim())
    })
}

fn find(haystack: &[u8], needle: &[u8]) -> Option<usize> {
    haystack.windows(needle.len()).position(|window| window == needle)
}

fn broken(what: &'static str) -> Error {
    Error::new(ErrorKind::InvalidData, what)
}
