//! Another program that is told: an address on this computer that writes down each request and answers as it was told to.

use std::collections::{HashMap, VecDeque};
use std::sync::{Arc, Mutex};

use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::{TcpListener, TcpStream};

#[derive(Clone, Debug)]
pub struct Heard {
    /// Names in small letters.
    pub headers: HashMap<String, String>,
    pub body: String,
}

#[derive(Clone)]
pub struct Listener {
    pub port: u16,
    heard: Arc<Mutex<Vec<Heard>>>,
    answers: Arc<Mutex<VecDeque<String>>>,
    connections: Arc<Mutex<usize>>,
}

impl Listener {
    pub async fn start() -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").await.expect("a port");
        let port = listener.local_addr().expect("an address").port();
        let it = Self { port, heard: Arc::default(), answers: Arc::default(), connections: Arc::default() };
        let shared = it.clone();
        tokio::spawn(async move {
            while let Ok((connection, _)) = listener.accept().await {
                *shared.connections.lock().unwrap() += 1;
                let shared = shared.clone();
                tokio::spawn(async move {
                    // A client that leaves is no fault of the listener.
                    let _ = shared.serve(connection).await;
                });
            }
        });
        it
    }

    pub fn url(&self) -> String {
        format!("http://localhost:{}/told?of=yard", self.port)
    }

    pub fn heard(&self) -> Vec<Heard> {
        self.heard.lock().unwrap().clone()
    }

    pub fn connections(&self) -> usize {
        *self.connections.lock().unwrap()
    }

    /// Status line and further headers of the next answer, such as `503 Service Unavailable`; afterwards 200.
    pub fn answer_next(&self, answer: &str) {
        self.answers.lock().unwrap().push_back(answer.to_owned());
    }

    async fn serve(&self, mut wire: TcpStream) -> std::io::Result<()> {
        let mut bytes = Vec::new();
        let end = loop {
            if let Some(at) = bytes.windows(4).position(|w| w == b"\r\n\r\n") {
                break at;
            }
            if wire.read_buf(&mut bytes).await? == 0 {
                return Ok(());
            }
        };
        let head = String::from_utf8_lossy(&bytes[..end]).into_owned();
        let headers: HashMap<String, String> = head
            .lines()
            .skip(1)
            .filter_map(|l| l.split_once(':'))
            .map(|(name, value)| (name.to_ascii_lowercase(), value.trim().to_owned()))
            .collect();
        let length: usize = headers.get("content-length").and_then(|l| l.parse().ok()).unwrap_or_default();
        while bytes.len() < end + 4 + length {
            if wire.read_buf(&mut bytes).await? == 0 {
                return Ok(());
            }
        }
        let body = String::from_utf8_lossy(&bytes[end + 4..]).into_owned();
        self.heard.lock().unwrap().push(Heard { headers, body });
        let answer = self.answers.lock().unwrap().pop_front().unwrap_or_else(|| "200 OK".to_owned());
        wire.write_all(
            format!("HTTP/1.1 {answer}\r\ncontent-length: 5\r\nconnection: close\r\n\r\nheard").as_bytes(),
        )
        .await
    }
}
