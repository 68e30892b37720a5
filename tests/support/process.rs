//! The built program, run as its users run it.

use std::io::{BufRead, BufReader};
use std::process::{Child, Command, Output, Stdio};
use std::sync::mpsc;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use super::{Bench, PASSWORD};

/// Nothing here takes near as long; what does has hung.
pub const DEADLINE: Duration = Duration::from_secs(30);

/// A server of the built program. Killed when dropped.
pub struct Served {
    child: Child,
    /// `http://127.0.0.1:…`
    pub base: String,
    said: mpsc::Receiver<String>,
}

/// The program with these arguments and nothing from the surroundings.
pub fn chock(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_chock"));
    command.args(arguments);
    for (name, _) in std::env::vars().filter(|(n, _)| n.starts_with("CHOCK_") || n == "DATABASE_URL") {
        command.env_remove(name);
    }
    command
}

/// The program on the bench's data.
pub fn chock_on(b: &Bench, arguments: &[&str]) -> Command {
    let mut command = chock(arguments);
    command.arg("--data").arg(b.folder.path()).env("DATABASE_URL", &b.database_url);
    command
}

/// Exit code and everything said on standard output.
pub fn run(mut command: Command) -> (i32, String) {
    let Output { status, stdout, stderr } = command.output().expect("the program runs");
    let code = status.code().unwrap_or_else(|| panic!("ended by a signal: {status}"));
    (code, String::from_utf8_lossy(&stdout).into_owned() + &String::from_utf8_lossy(&stderr))
}

impl Served {
    /// Starts it on a port that is free, and waits until it listens.
    pub fn start(command: Command) -> Self {
        Self::start_logging(command, Stdio::null())
    }

    /// The same; what it logs goes there.
    pub fn start_logging(mut command: Command, log: Stdio) -> Self {
        command.args(["--listen", "127.0.0.1:0"]).stdout(Stdio::piped()).stderr(log);
        let mut child = command.spawn().expect("the program starts");
        let output = BufReader::new(child.stdout.take().expect("its output"));
        let (line_said, said) = mpsc::channel();
        std::thread::spawn(move || {
            for line in output.lines().map_while(Result::ok) {
                let _ = line_said.send(line);
            }
        });
        let mut served = Self { child, base: String::new(), said };
        let first = served.line();
        let (_, address) = first.split_once("listens on ").unwrap_or_else(|| panic!("{first}"));
        served.base = address.to_owned();
        served
    }

    pub fn on(b: &Bench) -> Self {
        Self::start(chock_on(b, &["serve"]))
    }

    /// The next line that it says.
    pub fn line(&self) -> String {
        self.said.recv_timeout(DEADLINE).expect("the program says something")
    }

    /// As when the power fails: SIGKILL.
    pub fn kill(&mut self) {
        self.child.kill().expect("it is there to be killed");
        self.child.wait().expect("it has ended");
    }

    /// As an administrator stops it: SIGTERM. Answers the exit code, and what it had still said.
    pub fn stop(mut self) -> (i32, Vec<String>) {
        let told = Command::new("kill").arg("-TERM").arg(self.child.id().to_string()).status();
        assert!(told.expect("kill runs").success());
        let start = Instant::now();
        while start.elapsed() < DEADLINE {
            if let Some(status) = self.child.try_wait().expect("its state") {
                let code = status.code().unwrap_or_else(|| panic!("ended by a signal: {status}"));
                return (code, self.said.iter().collect());
            }
            std::thread::sleep(Duration::from_millis(10));
        }
        panic!("the program did not stop");
    }

    /// An access token of somebody whose password is [`PASSWORD`].
    pub async fn token(&self, client: &reqwest::Client, email: &str) -> String {
        let asked = client.post(format!("{}/api/v1/sessions", self.base));
        let answer = asked.json(&json!({ "email": email, "password": PASSWORD })).send().await.unwrap();
        assert_eq!(answer.status(), 201);
        let session: Value = answer.json().await.unwrap();
        session["access_token"].as_str().expect("a token").to_owned()
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
