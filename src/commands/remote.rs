//! The acts of a day over the API, for scripts: what is grounded, what is next, and the steps of a repair.

mod ask;
mod said;
mod steps;

use std::path::PathBuf;
use std::process::ExitCode;

use chock::domain::checklist::System;
use chock::domain::risk::{Certain, Harm, YesOrNo};
use clap::{Args, Subcommand};
use serde_json::{Value, json};
use uuid::Uuid;

use super::Outcome;
use ask::{AskError, Server};

/// The server refused, and said why.
const REFUSED: u8 = 3;
/// Nothing was done: somebody has to look first, and say so.
const LOOK_FIRST: u8 = 4;

#[derive(Args)]
pub struct Remote {
    /// As people reach it, such as https://chock.example.org
    #[arg(long, global = true, env = "CHOCK_SERVER", value_name = "URL")]
    server: Option<String>,
    /// Certificate (PEM) of whoever vouches for the server, where it is none of the known ones
    #[arg(long, global = true, env = "CHOCK_CA", value_name = "FILE")]
    ca: Option<PathBuf>,
    /// Print the server's answer as it is, instead of a table
    #[arg(long, global = true)]
    json: bool,
    #[command(subcommand)]
    act: Act,
}

/// A machine is named by its unit number. A work order by its id, or by its machine's unit number where it is the only one
/// that is open.
#[derive(Subcommand)]
enum Act {
    /// What is out of service, why, since when, and who has it
    Grounded {
        /// Name of one yard
        #[arg(long)]
        yard: Option<String>,
    },
    /// What to work on next, and why
    Queue,
    /// May I take it? One machine, with its holds and open defects
    Machine { unit: String },
    /// One work order, with its defects
    Order { order: String },
    /// Report a defect; what you leave out counts as not sure, which is the worst
    Report {
        unit: String,
        /// What is wrong, in your own words
        #[arg(long)]
        what: String,
        /// What is affected: brakes, steering, fuel …
        #[arg(long, value_name = "SYSTEM")]
        affects: Option<System>,
        /// Does it burn or smoulder, or can fuel or oil reach something hot?
        #[arg(long)]
        fire: Option<YesOrNo>,
        /// The worst it can do to somebody
        #[arg(long)]
        harm: Option<Harm>,
        /// Is it getting worse?
        #[arg(long)]
        worse: Option<YesOrNo>,
        /// How do you know?
        #[arg(long)]
        certain: Option<Certain>,
    },
    /// Put a machine out of service. A record: it isolates no energy
    Hold {
        unit: String,
        #[arg(long)]
        reason: String,
    },
    /// Lift a hold that was placed by hand
    Lift {
        /// Id of the hold, as `machine` shows it
        hold: Uuid,
        #[arg(long)]
        reason: String,
        #[command(flatten)]
        looked: steps::Looked,
    },
    /// Say what the hour meter shows
    Meter {
        unit: String,
        hours: String,
        /// The hours are right although they do not follow from the last ones
        #[arg(long)]
        confirmed: bool,
    },
    /// Take a work order
    Claim { order: String },
    /// Give a work order back to the queue
    HandBack { order: String },
    /// Start your clock on a work order
    Start { order: String },
    /// Stop your clock
    Stop { order: String },
    /// Say that the work is done
    Finish(steps::Finish),
    /// Perform the failed items again: without answers it says what they are
    Retest(steps::Retest),
    /// Return a machine to service, signed by you
    Release {
        order: String,
        #[arg(long, default_value = "")]
        note: String,
        #[command(flatten)]
        looked: steps::Looked,
    },
}

pub async fn remote(remote: Remote) -> Outcome {
    let Some(server) = &remote.server else {
        return Err("say which server: --server URL, or CHOCK_SERVER".into());
    };
    let server = match Server::sign_in(server, remote.ca.as_deref()).await {
        Ok(server) => server,
        Err(e) => return after(e),
    };
    let done = act(&server, remote.act, remote.json).await;
    server.sign_out().await;
    done.or_else(after)
}

fn after(e: AskError) -> Outcome {
    match e {
        AskError::Refused(sentences) => {
            for sentence in sentences {
                eprintln!("chock: {sentence}");
            }
            Ok(ExitCode::from(REFUSED))
        }
        AskError::Failed(why) => Err(why.into()),
    }
}

async fn act(server: &Server, act: Act, as_json: bool) -> Result<ExitCode, AskError> {
    let done = |answer: Value, words: String| {
        println!("{}", if as_json { format!("{answer:#}") } else { words });
        Ok(ExitCode::SUCCESS)
    };
    match act {
        Act::Grounded { yard } => {
            let query = yard.map(|y| [("yard", y)]).unwrap_or_else(|| [("yard", String::new())]);
            let query = serde_urlencoded::to_string(query).unwrap_or_default();
            let board = server.get(&format!("/board?limit=500&{query}")).await?;
            let words = said::grounded(&board);
            done(board, words)
        }
        Act::Queue => {
            let queue = server.get("/work-orders").await?;
            let words = said::queue(&queue);
            done(queue, words)
        }
        Act::Machine { unit } => {
            let machine = server.machine(&unit).await?;
            let words = said::machine(&machine);
            done(machine, words)
        }
        Act::Order { order } => {
            let order = server.order(&order).await?;
            let words = said::order(&order);
            done(order, words)
        }
        Act::Report { unit, what, affects, fire, harm, worse, certain } => {
            let machine = server.machine(&unit).await?;
            let report = json!({
                "machine": machine["id"], "what": what, "affects": affects, "fire": fire, "harm": harm,
                "worse": worse, "certain": certain,
            });
            let answer = server.put(&format!("/defects/{}", ask::new_id()), report).await?;
            let words = said::sentences(&answer, &["severity", "why", "instruction"]);
            done(answer, words)
        }
        Act::Hold { unit, reason } => {
            let machine = server.machine(&unit).await?;
            let hold = json!({ "machine": machine["id"], "reason": reason });
            let answer = server.put(&format!("/holds/{}", ask::new_id()), hold).await?;
            let words = format!(
                "{} is out of service. This is a record: lock and tag the machine itself.\nHold {}",
                said::text(&machine["unit_number"]),
                said::text(&answer["id"])
            );
            done(answer, words)
        }
        Act::Lift { hold, reason, looked } => {
            if !looked.confirmed() {
                return Ok(ExitCode::from(LOOK_FIRST));
            }
            let answer = server.post(&format!("/holds/{hold}/lift"), json!({ "reason": reason })).await?;
            let machine = server.get(&format!("/machines/{}", said::text(&answer["machine"]))).await?;
            done(answer, said::standing(&machine))
        }
        Act::Meter { unit, hours, confirmed } => {
            let machine = server.machine(&unit).await?;
            let path = format!("/machines/{}/engine-hours", said::text(&machine["id"]));
            let reading = json!({ "engine_hours": hours, "hours_confirmed": confirmed });
            let machine = server.post(&path, reading).await?;
            let words = said::standing(&machine);
            done(machine, words)
        }
        Act::Claim { order } => step(server, &order, "claim", as_json).await,
        Act::HandBack { order } => step(server, &order, "hand-back", as_json).await,
        Act::Start { order } => step(server, &order, "labour/start", as_json).await,
        Act::Stop { order } => step(server, &order, "labour/stop", as_json).await,
        Act::Finish(finish) => {
            let order = finish.send(server).await?;
            let words = said::order(&order);
            done(order, words)
        }
        Act::Retest(retest) => match retest.send(server).await? {
            None => Ok(ExitCode::from(LOOK_FIRST)),
            Some(answer) => {
                let words = if answer["passed"] == true {
                    "Passed.".to_owned()
                } else {
                    format!("Not passed: {}", said::text(&answer["why"]))
                };
                done(answer, words)
            }
        },
        Act::Release { order, note, looked } => {
            if !looked.confirmed() {
                return Ok(ExitCode::from(LOOK_FIRST));
            }
            let id = server.order_id(&order).await?;
            let answer = server
                .post(
                    &format!("/work-orders/{id}/release"),
                    json!({ "note": note, "password": ask::password() }),
                )
                .await?;
            let words = if answer["fit_for_use"] == true {
                "Released: fit for use."
            } else {
                "Released. Another hold still keeps the machine out of service."
            };
            done(answer, words.to_owned())
        }
    }
}

async fn step(server: &Server, order: &str, step: &str, as_json: bool) -> Result<ExitCode, AskError> {
    let id = server.order_id(order).await?;
    let order = server.post(&format!("/work-orders/{id}/{step}"), json!({})).await?;
    println!("{}", if as_json { format!("{order:#}") } else { said::order(&order) });
    Ok(ExitCode::SUCCESS)
}
