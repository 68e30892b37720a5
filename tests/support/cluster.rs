//! A PostgreSQL cluster for one test, beside the one that all share: it is stopped and started again.

use std::process::{Command, Stdio};

pub struct Cluster {
    home: String,
    port: String,
    pub url: String,
}

/// Runs some of `postgres.sh` on a cluster; answers what it says. What it starts has no hold of our output.
fn shell(home: &str, script: &str) -> String {
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/support/postgres.sh");
    let script = format!("set -euo pipefail; . '{file}'; postgres_home='{home}'; postgres_whose; {script}");
    let output = Command::new("bash").args(["-c", &script]).stdin(Stdio::null()).output().expect("bash runs");
    assert!(output.status.success(), "{script}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8_lossy(&output.stdout).trim().to_owned()
}

impl Cluster {
    pub fn start() -> Self {
        let said = shell(
            "",
            "postgres_start >/dev/null; printf '%s\\n' \"$postgres_home\" \"$CHOCK_TEST_POSTGRES\"",
        );
        let (home, url) = said.split_once('\n').unwrap_or_else(|| panic!("{said}"));
        let port = url.rsplit(':').next().and_then(|p| p.split('/').next()).unwrap_or_default();
        Self { home: home.to_owned(), port: port.to_owned(), url: url.to_owned() }
    }

    /// As when its machine loses power.
    pub fn halt(&self) {
        shell(&self.home, "postgres_halt");
    }

    /// Another cluster that follows this one from now on; answers its URL. It goes with this one.
    pub fn follow(&self) -> String {
        let port = shell(&self.home, &format!("postgres_follow '{}'", self.url));
        self.url.replace(&format!(":{}/", self.port), &format!(":{port}/"))
    }

    /// The one that follows loses power.
    pub fn halt_follower(&self) {
        shell(&self.home, "postgres_halt replica");
    }

    pub fn again(&self) {
        shell(&self.home, &format!("postgres_run {}", self.port));
    }
}

impl Drop for Cluster {
    fn drop(&mut self) {
        shell(&self.home, "postgres_stop");
    }
}
