//! A mail server that does what real ones do on a bad day: hangs, refuses for now or for good, and breaks off after it has taken
//! a mail but before it says so. Speaks just enough of RFC 5321, in clear, on a port of its own.

use std::collections::{HashMap, VecDeque};
use std::sync::{Arc, Mutex};

use tokio::io::{AsyncBufReadExt, AsyncWriteExt, BufReader};
use tokio::net::{TcpListener, TcpStream};

/// What becomes of the next mail to somebody.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mood {
    /// This answer to RCPT.
    AtRcpt(&'static str),
    /// This answer after the final dot; the mail is not taken.
    AfterData(&'static str),
    /// Says nothing after the final dot, for ever.
    Hangs,
    /// Takes the mail and drops the connection after the final dot.
    DropsAfterDot,
}

#[derive(Default)]
struct State {
    moods: HashMap<String, VecDeque<Mood>>,
    always: HashMap<String, Mood>,
    taken: Vec<(String, String)>,
    tried: HashMap<String, usize>,
}

#[derive(Clone)]
pub struct StubbornMail {
    pub port: u16,
    state: Arc<Mutex<State>>,
}

impl StubbornMail {
    pub async fn start() -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").await.expect("a port");
        let port = listener.local_addr().expect("an address").port();
        let state: Arc<Mutex<State>> = Arc::default();
        let shared = state.clone();
        tokio::spawn(async move {
            while let Ok((connection, _)) = listener.accept().await {
                let state = shared.clone();
                tokio::spawn(async move {
                    // A client that leaves is no fault of the server.
                    let _ = serve(connection, &state).await;
                });
            }
        });
        Self { port, state }
    }

    /// The next mails to this address, in their order; afterwards they are accepted.
    pub fn next(&self, address: &str, moods: &[Mood]) {
        self.state.lock().unwrap().moods.entry(address.to_owned()).or_default().extend(moods);
    }

    pub fn always(&self, address: &str, mood: Mood) {
        self.state.lock().unwrap().always.insert(address.to_owned(), mood);
    }

    /// Message-IDs of what the server has taken for somebody, whether it could still say so or not.
    pub fn taken(&self, address: &str) -> Vec<String> {
        let state = self.state.lock().unwrap();
        state.taken.iter().filter(|(to, _)| to == address).map(|(_, id)| id.clone()).collect()
    }

    /// How often a mail to somebody was offered.
    pub fn tried(&self, address: &str) -> usize {
        self.state.lock().unwrap().tried.get(address).copied().unwrap_or_default()
    }
}

async fn serve(connection: TcpStream, state: &Mutex<State>) -> std::io::Result<()> {
    let mut wire = BufReader::new(connection);
    wire.write_all(b"220 stubborn\r\n").await?;
    let (mut to, mut mood, mut line) = (String::new(), None, String::new());
    loop {
        line.clear();
        if wire.read_line(&mut line).await? == 0 {
            return Ok(());
        }
        let command = line.trim_end().to_ascii_uppercase();
        let answer = if command.starts_with("EHLO") || command.starts_with("MAIL") {
            "250 fine"
        } else if command.starts_with("RCPT") {
            to = line.split(['<', '>']).nth(1).unwrap_or_default().to_owned();
            let mut state = state.lock().unwrap();
            *state.tried.entry(to.clone()).or_default() += 1;
            mood = state.moods.get_mut(&to).and_then(VecDeque::pop_front).or(state.always.get(&to).copied());
            match mood {
                Some(Mood::AtRcpt(answer)) => answer,
                _ => "250 fine",
            }
        } else if command == "DATA" {
            wire.write_all(b"354 go on\r\n").await?;
            let mut id = String::new();
            loop {
                line.clear();
                if wire.read_line(&mut line).await? == 0 {
                    return Ok(());
                }
                if let Some(rest) = line.strip_prefix("Message-ID:") {
                    id = rest.trim().to_owned();
                }
                if line.trim_end() == "." {
                    break;
                }
            }
            match mood {
                Some(Mood::AfterData(answer)) => answer,
                Some(Mood::Hangs) => std::future::pending().await,
                Some(Mood::DropsAfterDot) => {
                    state.lock().unwrap().taken.push((to, id));
                    return Ok(());
                }
                _ => {
                    state.lock().unwrap().taken.push((to.clone(), id));
                    "250 taken"
                }
            }
        } else if command == "QUIT" {
            wire.write_all(b"221 bye\r\n").await?;
            return Ok(());
        } else {
            "250 fine"
        };
        wire.write_all(format!("{answer}\r\n").as_bytes()).await?;
    }
}
