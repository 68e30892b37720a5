//! Moving a site from its SQLite file to PostgreSQL.

use std::process::ExitCode;

use chock::clock::Ambient;
use chock::storage::{Compared, Db, Move};
use chock::workflow::{self, Workshop};

use super::keep::tell;
use super::{FAULTY, Outcome};

/// A long table says so often how far it is.
const SAID_EVERY: i64 = 100_000;

pub async fn move_site(from: &str, to: &str) -> Outcome {
    let mut moving = Move::begin(from, to).await?;
    if moving.goes_on() {
        println!("Going on where the move of this file was broken off.");
    } else {
        println!("The file is held: no server can start on it until this has ended. The target is empty.");
    }
    println!("Rows, table by table:");
    for n in 0..moving.tables() {
        let (mut name, mut said) = (String::new(), 0);
        let rows = moving
            .copy(n, |table, there| {
                if there - said >= SAID_EVERY {
                    println!("{there:>12}  {table}, so far");
                    said = there;
                }
                table.clone_into(&mut name);
            })
            .await?;
        if !name.is_empty() {
            println!("{rows:>12}  {name}");
        }
    }
    println!("All rows are there. Laying indexes and references again …");
    moving.lay_rules().await?;
    println!("Comparing every row of both …");
    let compared = moving.compare().await?;
    let unlike: Vec<&Compared> = compared.iter().filter(|c| !c.alike).collect();
    for table in &unlike {
        println!("{}: not the same in both", table.table);
    }
    if !unlike.is_empty() {
        println!("The target stays closed. Empty it, and move again; the file is as it was.");
        return Ok(ExitCode::from(FAULTY));
    }
    let rows: u64 = compared.iter().map(|c| c.rows).sum();
    println!(
        "The same {rows} rows in all {} tables, the ends of the audit chains among them.",
        compared.len()
    );
    let workshop = Workshop::new(Db::open_moved(to).await?, Ambient::real(), "EUR");
    let report = workflow::verify(&workshop).await?;
    workshop.db.close().await;
    tell(&report);
    moving.finish().await?;
    println!("Moved. Start the server with DATABASE_URL set to the new place, and with the same --data:");
    println!("pictures and mail stay in that folder. Keep the old file, and start no server on it any more:");
    println!("what is entered there from now on would be missing here.");
    if report.sound() {
        return Ok(ExitCode::SUCCESS);
    }
    println!("What was found faulty above is the same in the old file: it was so before the move.");
    Ok(ExitCode::from(FAULTY))
}
