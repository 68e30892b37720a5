//! The way between a phone and the server, as bad as it gets in a yard: it refuses, hangs, breaks off, drips, or loses
//! the answer on the way back.

use std::net::SocketAddr;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex};
use std::time::Duration;

use tokio::io::{AsyncReadExt, AsyncWriteExt};
use tokio::net::{TcpListener, TcpStream};
use tokio::task::JoinHandle;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Signal {
    Good,
    /// Every connection is closed as soon as it is there.
    Refuses,
    /// Takes everything and answers nothing.
    Hangs,
    /// Breaks off after so many bytes of an answer.
    BreaksAfter(usize),
    /// So many bits a second towards the phone.
    Drips(u64),
    /// The request arrives; of the answer nothing does.
    LosesAnswers,
}

pub struct Link {
    pub url: String,
    signal: Arc<Mutex<Signal>>,
    /// Bytes that went towards the phone.
    carried: Arc<AtomicU64>,
    accepting: JoinHandle<()>,
}

impl Link {
    pub async fn to(server: &str) -> Self {
        let server: SocketAddr = server.trim_start_matches("http://").parse().expect("an address");
        let listener = TcpListener::bind("127.0.0.1:0").await.expect("a port");
        let url = format!("http://{}", listener.local_addr().expect("its address"));
        let signal = Arc::new(Mutex::new(Signal::Good));
        let carried = Arc::new(AtomicU64::new(0));
        let shared = (signal.clone(), carried.clone());
        let accepting = tokio::spawn(async move {
            while let Ok((phone, _)) = listener.accept().await {
                let (signal, carried) = shared.clone();
                tokio::spawn(async move {
                    // A broken connection is what this is for.
                    let _ = carry(phone, server, &signal, &carried).await;
                });
            }
        });
        Self { url, signal, carried, accepting }
    }

    pub fn becomes(&self, signal: Signal) {
        *self.signal.lock().expect("nobody panics with it") = signal;
    }

    pub fn carried(&self) -> u64 {
        self.carried.load(Ordering::Relaxed)
    }
}

impl Drop for Link {
    fn drop(&mut self) {
        self.accepting.abort();
    }
}

async fn carry(
    phone: TcpStream,
    server: SocketAddr,
    signal: &Mutex<Signal>,
    carried: &AtomicU64,
) -> std::io::Result<()> {
    let now = || *signal.lock().expect("nobody panics with it");
    if now() == Signal::Refuses {
        return Ok(());
    }
    let server = TcpStream::connect(server).await?;
    let (mut from_phone, mut to_phone) = phone.into_split();
    let (mut from_server, mut to_server) = server.into_split();
    let up = async {
        let mut bytes = vec![0; 16 * 1024];
        loop {
            let read = from_phone.read(&mut bytes).await?;
            if read == 0 || now() == Signal::Refuses {
                return std::io::Result::Ok(());
            }
            if now() == Signal::Hangs {
                std::future::pending::<()>().await;
            }
            to_server.write_all(&bytes[..read]).await?;
        }
    };
    let down = async {
        let mut bytes = vec![0; 1024];
        let mut sent = 0;
        loop {
            let read = from_server.read(&mut bytes).await?;
            let mut part = &bytes[..read];
            if read == 0 {
                return std::io::Result::Ok(());
            }
            match now() {
                Signal::Refuses | Signal::LosesAnswers => return Ok(()),
                Signal::Hangs => std::future::pending::<()>().await,
                Signal::BreaksAfter(most) => part = &part[..part.len().min(most.saturating_sub(sent))],
                Signal::Drips(bits) => {
                    tokio::time::sleep(Duration::from_secs_f64(read as f64 * 8.0 / bits as f64)).await;
                }
                Signal::Good => {}
            }
            to_phone.write_all(part).await?;
            carried.fetch_add(part.len() as u64, Ordering::Relaxed);
            sent += part.len();
            if part.len() < read {
                return Ok(());
            }
        }
    };
    tokio::select! { done = up => done, done = down => done }
}
