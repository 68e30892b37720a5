//! Clients that put checks one after another, each on a kept-alive connection.

use std::net::SocketAddr;
use std::sync::Arc;
use std::time::{Duration, Instant};

use chock::domain::ids::CheckId;
use serde_json::Value;

use crate::Outcome;
use crate::client::Client;
use crate::world::World;

pub struct Pace {
    pub per_second: f64,
    /// Of 100 checks 99 are acknowledged within it.
    pub slowest_of_100_ms: f64,
}

/// What is the same in every request.
impl Pace {
    /// Of how long each was waited for, in milliseconds.
    pub fn of(mut waits: Vec<f64>, start: Instant) -> Self {
        waits.sort_by(f64::total_cmp);
        let slow = waits.get(waits.len() * 99 / 100).copied().unwrap_or_default();
        Self { per_second: waits.len() as f64 / start.elapsed().as_secs_f64(), slowest_of_100_ms: slow }
    }
}

pub struct Traffic {
    world: Arc<World>,
    address: SocketAddr,
    token: String,
    answers: String,
}

impl Traffic {
    /// Signs the operator in.
    pub async fn new(world: &Arc<World>, address: SocketAddr, email: &str, password: &str) -> Outcome<Self> {
        let asked = serde_json::json!({ "email": email, "password": password }).to_string();
        let mut client = Client::connect(address).await?;
        let status = client
            .exchange(
                format!(
                    "POST /api/v1/sessions HTTP/1.1\r\nHost: bench\r\nContent-Type: application/json\r\n\
                     Content-Length: {}\r\n\r\n{asked}",
                    asked.len()
                )
                .as_bytes(),
            )
            .await?;
        let session: Value = serde_json::from_slice(&client.body)?;
        let Some(token) = session["access_token"].as_str().filter(|_| status == 201) else {
            return Err(format!("signing in was answered with {status}: {session}").into());
        };
        // As a client would write them: without what is not said.
        let answers: Vec<Value> = world
            .answers
            .iter()
            .map(|answer| match serde_json::to_value(answer) {
                Ok(Value::Object(said)) => said.into_iter().filter(|(_, v)| !v.is_null()).collect(),
                _ => Value::Null,
            })
            .collect();
        Ok(Self {
            world: world.clone(),
            address,
            token: token.to_owned(),
            answers: serde_json::to_string(&answers)?,
        })
    }

    pub fn bearer(&self) -> String {
        format!("Authorization: Bearer {}\r\n", self.token)
    }

    /// Bytes of one request.
    pub fn bytes(&self) -> usize {
        let mut request = Vec::new();
        self.write_check(&mut request, 0);
        request.len()
    }

    /// How fast this many clients get their checks acknowledged within the window.
    pub async fn pace(self: &Arc<Self>, clients: usize, window: Duration) -> Outcome<Pace> {
        let traffic = self.clone();
        // A thread of their own, so that the server's tasks do not wait for them.
        tokio::task::spawn_blocking(move || {
            let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
            runtime.block_on(async {
                let mut connected = Vec::with_capacity(clients);
                for _ in 0..clients {
                    connected.push(Client::connect(traffic.address).await?);
                }
                let start = Instant::now();
                let running: Vec<_> = connected
                    .into_iter()
                    .enumerate()
                    .map(|(nth, client)| {
                        tokio::spawn(traffic.clone().one_client(client, nth, clients, start + window))
                    })
                    .collect();
                let mut waits = Vec::new();
                for task in running {
                    waits.extend(task.await??);
                }
                Ok(Pace::of(waits, start))
            })
        })
        .await?
    }

    /// No two clients ever check the same machine: a machine is locked while it changes.
    async fn one_client(
        self: Arc<Self>,
        mut client: Client,
        nth: usize,
        clients: usize,
        until: Instant,
    ) -> Outcome<Vec<f64>> {
        let (mut request, mut waits, mut machine) = (Vec::new(), Vec::new(), nth);
        while Instant::now() < until {
            self.write_check(&mut request, machine);
            let asked = Instant::now();
            let status = client.exchange(&request).await?;
            if status != 201 {
                let said = String::from_utf8_lossy(&client.body).into_owned();
                return Err(format!("a check was answered with {status}: {said}").into());
            }
            waits.push(asked.elapsed().as_secs_f64() * 1000.0);
            machine += clients;
            if machine >= self.world.machines.len() {
                machine = nth;
            }
        }
        Ok(waits)
    }

    fn write_check(&self, into: &mut Vec<u8>, machine: usize) {
        let machine = &self.world.machines[machine];
        let id: CheckId = self.world.workshop.ambient.id();
        let body = format!(
            r#"{{"machine":"{}","checklist":"{}","load":"unladen","engine_hours":"{}","answers":{}}}"#,
            machine.id,
            self.world.checklist_id,
            machine.next_hours(),
            self.answers
        );
        into.clear();
        into.extend_from_slice(
            format!(
                "PUT /api/v1/checks/{id} HTTP/1.1\r\nHost: bench\r\nAuthorization: Bearer {}\r\n\
                 Content-Type: application/json\r\nContent-Length: {}\r\n\r\n",
                self.token,
                body.len()
            )
            .as_bytes(),
        );
        into.extend_from_slice(body.as_bytes());
    }
}
