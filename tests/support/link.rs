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
    /// As if the server were of another build: its pages and its worker name other assets, whose bytes are the same.
    OfAnotherBuild,
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
    let build = chock::http::assets::BASE.rsplit('/').next().unwrap_or_default();
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
            if now() == Signal::OfAnotherBuild {
                // Of the same length; what is not packed can be changed on the way.
                replace(&mut bytes[..read], b"gzip", b"none");
                replace(&mut bytes[..read], b"deflate", b"without");
            }
            to_server.write_all(&bytes[..read]).await?;
        }
    };
    let down = async {
        let mut bytes = vec![0; 1024];
        let (mut sent, mut kept) = (0, 0);
        loop {
            let read = kept + from_server.read(&mut bytes[kept..]).await?;
            if read == kept {
                to_phone.write_all(&bytes[..kept]).await?;
                return std::io::Result::Ok(());
            }
            kept = 0;
            if now() == Signal::OfAnotherBuild {
                replace(&mut bytes[..read], build.as_bytes(), &vec![b'0'; build.len()]);
                // The rest of the name may come with the next bytes.
                kept = (1..build.len())
                    .rev()
                    .find(|n| bytes[..read].ends_with(&build.as_bytes()[..*n]))
                    .unwrap_or(0);
            }
            let mut part = &bytes[..read - kept];
            match now() {
                Signal::Refuses | Signal::LosesAnswers => return Ok(()),
                Signal::Hangs => std::future::pending::<()>().await,
                Signal::BreaksAfter(most) => part = &part[..part.len().min(most.saturating_sub(sent))],
                Signal::Drips(bits) => {
                    tokio::time::sleep(Duration::from_secs_f64(read as f64 * 8.0 / bits as f64)).await;
                }
                Signal::Good | Signal::OfAnotherBuild => {}
            }
            to_phone.write_all(part).await?;
            carried.fetch_add(part.len() as u64, Ordering::Relaxed);
            sent += part.len();
            if part.len() < read - kept {
                return Ok(());
            }
            bytes.copy_within(read - kept..read, 0);
        }
    };
    tokio::select! { done = up => done, done = down => done }
}

fn replace(bytes: &mut [u8], old: &[u8], new: &[u8]) {
    for at in 0..bytes.len().saturating_sub(old.len() - 1) {
        if bytes[at..].starts_with(old) {
            bytes[at..at + new.len()].copy_from_slice(new);
        }
    }
}
