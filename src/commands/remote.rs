//! The acts of a day over the API, for scripts: what is grounded, what is next, and the steps of a repair.

mod ask;
mod check;
mod said;
mod steps;

use std::path::PathBuf;
use std::process::ExitCode;

use chock::domain::checklist::System;
use chock::domain::risk::{Certain, Harm, YesOrNo};
use chock::domain::work_order::WaitingFor;
use chrono::{DateTime, Utc};
use clap::{Args, Subcommand};
use serde_json::{Value, json};
use uuid::Uuid;

use super::Outcome;
use ask::{AskError, Server, words};

/// What was typed is no address.
const WRONG: u8 = 2;
/// The server refused, and said why.
const REFUSED: u8 = 3;
/// Nothing was done: somebody has to look first, and say so.
const LOOK_FIRST: u8 = 4;

#[derive(Args)]
pub struct Remote {
    /// As people reach it, such as https://chock.example.org
    #[arg(long, global = true, env = "CHOCK_SERVER", value_name = "URL", help_heading = "Which server")]
    server: Option<String>,
    /// Certificate (PEM) of whoever vouches for the server, where it is none of the known ones
    #[arg(long, global = true, env = "CHOCK_CA", value_name = "FILE", help_heading = "Which server")]
    ca: Option<PathBuf>,
    /// Print the server's answer as it is, instead of a table
    #[arg(long, global = true, help_heading = "Which server")]
    json: bool,
    #[command(subcommand)]
    act: Act,
}

/// A machine is named by its unit number. A work order by its id, by its number, or by its machine's unit number where it is the
/// only one that is open.
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
    Machine {
        /// Unit number of the machine
        unit: String,
    },
    /// One work order, with its defects
    Order {
        /// Id or number of the work order, or unit number of its machine
        order: String,
    },
    /// Submit a pre-use check; without --looked it says what there is to check
    Check(check::Check),
    /// Report a defect; what you leave out counts as not sure, which is the worst
    Report {
        /// Unit number of the machine
        unit: String,
        /// What is wrong, in your own words
        #[arg(long)]
        what: String,
        /// What is affected: brakes, steering, fuel …
        #[arg(long, value_name = "SYSTEM", value_parser = words(System::ALL, System::as_str))]
        affects: Option<String>,
        /// Does it burn or smoulder, or can fuel or oil reach something hot?
        #[arg(long, value_parser = words(YesOrNo::ALL, YesOrNo::as_str))]
        fire: Option<String>,
        /// The worst it can do to somebody
        #[arg(long, value_parser = words(Harm::ALL, Harm::as_str))]
        harm: Option<String>,
        /// Is it getting worse?
        #[arg(long, value_parser = words(YesOrNo::ALL, YesOrNo::as_str))]
        worse: Option<String>,
        /// How do you know?
        #[arg(long, value_parser = words(Certain::ALL, Certain::as_str))]
        certain: Option<String>,
        /// Id of this report (UUID, version 7): the same one when it is sent again after there was no answer
        #[arg(long)]
        id: Option<Uuid>,
    },
    /// Put a machine out of service. A record: it isolates no energy
    Hold {
        /// Unit number of the machine
        unit: String,
        /// Why nobody may use it
        #[arg(long)]
        reason: String,
        /// Id of this hold (UUID, version 7): the same one when it is sent again after there was no answer
        #[arg(long)]
        id: Option<Uuid>,
    },
    /// Lift a hold that was placed by hand
    Lift {
        /// Id of the hold, as `machine` shows it, or the unit number where the machine has only one that was placed by hand
        hold: String,
        /// Why it may be used again
        #[arg(long)]
        reason: String,
        #[command(flatten)]
        looked: steps::Looked,
    },
    /// Say what the hour meter shows
    Meter {
        /// Unit number of the machine
        unit: String,
        /// In hours and tenths, such as 1234.5
        hours: String,
        /// The hours are right although they do not follow from the last ones
        #[arg(long)]
        confirmed: bool,
    },
    /// Take a work order
    Claim {
        /// Id or number of the work order, or unit number of its machine
        order: String,
    },
    /// Give a work order back to the queue
    HandBack {
        /// Id or number of the work order, or unit number of its machine
        order: String,
    },
    /// Start your clock on a work order
    Start {
        /// Id or number of the work order, or unit number of its machine
        order: String,
    },
    /// Stop your clock
    Stop {
        /// Id or number of the work order, or unit number of its machine
        order: String,
    },
    /// Leave a work order to wait
    Wait {
        /// Id or number of the work order, or unit number of its machine
        order: String,
        /// What it waits for
        #[arg(long = "for", value_parser = words(WaitingFor::ALL, WaitingFor::as_str))]
        waiting_for: String,
        /// What exactly
        #[arg(long, default_value = "")]
        note: String,
        /// When it is expected to go on, such as 2026-12-09T11:00:00Z
        #[arg(long, value_name = "TIME")]
        until: Option<DateTime<Utc>>,
    },
    /// Leave a note on a work order
    Note {
        /// Id or number of the work order, or unit number of its machine
        order: String,
        note: String,
        /// Id of this note (UUID, version 7): the same one when it is sent again after there was no answer
        #[arg(long)]
        id: Option<Uuid>,
    },
    /// Say that the work is done
    Finish(steps::Finish),
    /// Perform the failed items again: without answers it says what they are
    Retest(steps::Retest),
    /// Return a machine to service, signed by you
    Release {
        /// Id or number of the work order, or unit number of its machine
        order: String,
        /// How you made sure of it
        #[arg(long, default_value = "")]
        note: String,
        #[command(flatten)]
        looked: steps::Looked,
    },
}

pub async fn remote(remote: Remote) -> Outcome {
    let Some(server) = remote.server.as_ref().filter(|url| !url.is_empty()) else {
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
        AskError::NoAddress(why) => {
            eprintln!("chock: {why}");
            Ok(ExitCode::from(WRONG))
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
        Act::Check(check) => match check.send(server).await? {
            None => Ok(ExitCode::from(LOOK_FIRST)),
            Some(answer) => {
                let words = check::verdict(&answer);
                done(answer, words)
            }
        },
        Act::Report { unit, what, affects, fire, harm, worse, certain, id } => {
            let machine = server.machine(&unit).await?;
            let report = json!({
                "machine": machine["id"], "what": what, "affects": affects, "fire": fire, "harm": harm,
                "worse": worse, "certain": certain,
            });
            let answer = server.put_once("/defects", id.unwrap_or_else(ask::new_id), report).await?;
            let words = said::sentences(&answer, &["severity", "why", "instruction"]);
            done(answer, words)
        }
        Act::Hold { unit, reason, id } => {
            let machine = server.machine(&unit).await?;
            let hold = json!({ "machine": machine["id"], "reason": reason });
            let answer = server.put_once("/holds", id.unwrap_or_else(ask::new_id), hold).await?;
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
            let hold = server.hold_by_hand(&hold).await?;
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
        Act::Claim { order } => step(server, &order, "claim", json!({}), as_json).await,
        Act::HandBack { order } => step(server, &order, "hand-back", json!({}), as_json).await,
        Act::Start { order } => step(server, &order, "labour/start", json!({}), as_json).await,
        Act::Stop { order } => step(server, &order, "labour/stop", json!({}), as_json).await,
        Act::Wait { order, waiting_for, note, until } => {
            let reason = json!({ "waiting_for": waiting_for, "note": note, "until": until });
            step(server, &order, "wait", reason, as_json).await
        }
        Act::Note { order, note, id } => {
            let left = json!({ "id": id.unwrap_or_else(ask::new_id), "note": note });
            step(server, &order, "notes", left, as_json).await
        }
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

async fn step(
    server: &Server,
    order: &str,
    step: &str,
    said: Value,
    as_json: bool,
) -> Result<ExitCode, AskError> {
    let id = server.order_id(order).await?;
    let order = server.post(&format!("/work-orders/{id}/{step}"), said).await?;
    println!("{}", if as_json { format!("{order:#}") } else { said::order(&order) });
    Ok(ExitCode::SUCCESS)
}
