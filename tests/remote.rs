//! `chock remote` as a script uses it: the built program against a server of the built program.

use std::process::Command;

use chock::domain::checklist::Load;
use chock::domain::ids::{CheckId, HoldId};
use serde_json::Value;

use crate::support::process::{Served, chock, run};
use crate::support::{Bench, Engine, PASSWORD, all_well};

struct Script<'a> {
    served: &'a Served,
}

impl Script<'_> {
    fn command(&self, who: &str, arguments: &[&str]) -> Command {
        let mut command = chock(&[&["remote"][..], arguments].concat());
        command.env("CHOCK_SERVER", &self.served.base);
        command.env("CHOCK_EMAIL", format!("{who}@yard.example")).env("CHOCK_PASSWORD", PASSWORD);
        command
    }

    /// What it says, when it ends with this code.
    #[track_caller]
    fn run(&self, who: &str, arguments: &[&str], code: i32) -> String {
        let (ended, said) = run(self.command(who, arguments));
        assert_eq!(ended, code, "{arguments:?}: {said}");
        said
    }

    #[track_caller]
    fn json(&self, who: &str, arguments: &[&str]) -> Value {
        let output = self.command(who, &[&["--json"][..], arguments].concat()).output().expect("it runs");
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        serde_json::from_slice(&output.stdout).expect("JSON")
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn the_acts_of_a_day_by_script() {
    let b = Bench::on_real_time(Engine::Sqlite).await;
    for person in [&b.operator, &b.mechanic, &b.supervisor] {
        crate::support::has_password(&b.workshop, person.id).await;
    }
    let served = Served::on(&b);
    let s = Script { served: &served };
    assert_eq!(s.run("otto", &["grounded"], 0).trim(), "No machine is out of service.");

    // Nothing said for sure is a doubt, and a doubt holds.
    let said =
        s.run("otto", &["report", "u 7", "--what", "A knock from below", "--affects", "suspension"], 0);
    assert!(said.starts_with("out of service\n"), "{said}");
    let grounded = s.run("otto", &["grounded"], 0);
    let (names, rows) = grounded.split_once('\n').expect("a table");
    assert!(names.starts_with("unit ") && rows.starts_with("U-07 "), "{grounded}");
    assert_eq!(s.json("otto", &["grounded"])["grounded"][0]["unit_number"], "U-07");
    let machine = s.run("otto", &["machine", "U-07"], 0);
    assert!(
        machine.starts_with("U-07: out of service\n") && machine.contains("A knock from below"),
        "{machine}"
    );
    let metered = s.run("otto", &["meter", "U-07", "1234.5", "--confirmed"], 0);
    assert_eq!(metered.trim(), "U-07: out of service");

    // Not theirs to repair; refused with the server's own sentence.
    assert!(
        s.run("otto", &["claim", "U-07"], 3).contains("takes one of these roles"),
        "the operator is no mechanic"
    );
    assert!(s.run("mats", &["queue"], 0).contains("A knock from below"));
    assert!(s.run("mats", &["claim", "U-07"], 0).contains("claimed, Mats Mechanic"));
    assert!(s.run("mats", &["start", "U-07"], 0).contains("your clock runs"));
    s.run("mats", &["stop", "U-07"], 0);
    let done = ["finish", "U-07", "--cause", "A bush was worn", "--remedy", "New bush"];
    assert!(s.run("mats", &done, 0).contains("work done"));

    // The caution comes first, and without somebody's word nothing is done.
    let tried = ["retest", "U-07", "--gone", "--tried", "Drove it over the ridge"];
    let looked = s.run("mats", &tried, 4);
    assert!(looked.contains("CAUTION. Look at the machine yourself"), "{looked}");
    assert!(s.run("sara", &["release", "U-07"], 4).contains("Nothing was done"));
    // Not retested yet: the server refuses whatever a script says.
    s.run("sara", &["release", "U-07", "--looked"], 3);
    let passed = s.run("mats", &[&tried[..], &["--looked"]].concat(), 0);
    assert!(passed.contains("Passed."), "{passed}");
    s.run("mats", &["release", "U-07", "--looked"], 3);
    let released = s.run("sara", &["release", "U-07", "--looked", "--note", "Drove it myself"], 0);
    assert!(released.contains("Released: fit for use."), "{released}");

    // Held by hand, and set free by hand. Sent again under its id, it is one.
    let id = b.workshop.ambient.id::<HoldId>().to_string();
    let hold = ["hold", "U-08", "--reason", "Stood in the flood", "--id", &id];
    let held = s.run("otto", &hold, 0);
    assert!(held.contains("lock and tag the machine itself") && held.contains(&id), "{held}");
    s.run("otto", &hold, 0);
    assert_eq!(s.json("sara", &["machine", "U-08"])["holds"].as_array().unwrap().len(), 1);
    let lift = ["lift", "u8", "--reason", "Dried and looked at"];
    s.run("sara", &lift, 4);
    let lifted = s.run("sara", &[&lift[..], &["--looked"]].concat(), 0);
    assert!(lifted.contains("U-08: fit for use"), "{lifted}");

    // A code for each way in which it does not work.
    assert!(s.run("otto", &["machine", "U-99"], 3).contains("no machine"));
    // Misspelt, a yard is not one without a grounded machine.
    assert!(s.run("otto", &["grounded", "--yard", "Nowhere"], 3).contains("no such yard"));
    s.run("otto", &["grind"], 2);
    s.run("nobody", &["queue"], 3);
    assert!(s.run("mats", &["order", "4711"], 3).contains("no machine and no open work order"));
    let mut nowhere = s.command("otto", &["queue"]);
    nowhere.env("CHOCK_SERVER", "http://127.0.0.1:1");
    assert!(matches!(run(nowhere), (1, said) if said.contains("No answer from http://127.0.0.1:1.")));
    for wrong in ["yard.example", "ftp://yard.example", "foo"] {
        let mut unlike = s.command("otto", &["queue"]);
        unlike.env("CHOCK_SERVER", wrong);
        assert!(matches!(run(unlike), (2, said) if said.contains("is no address of a server")), "{wrong}");
    }
    let mut empty = s.command("otto", &["queue"]);
    empty.env("CHOCK_SERVER", "");
    assert!(run(empty).1.contains("say which server"));
    let mut unnamed = s.command("otto", &["queue"]);
    unnamed.env_remove("CHOCK_PASSWORD");
    assert!(matches!(run(unnamed), (1, said) if said.contains("CHOCK_PASSWORD is not set")));
    assert!(
        s.run("otto", &["report", "--help"], 0).contains("[possible values: brakes,"),
        "the words are listed"
    );
    // A password is no argument: every process can read those.
    assert!(!run(chock(&["remote", "--help"])).1.contains("--password"));
    b.assert_sound().await;
}

/// From the walk round to the repair, by the numbers that the commands themselves print.
#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn a_check_by_script_answers_nothing_by_itself() {
    let b = Bench::on_real_time(Engine::Sqlite).await;
    for person in [&b.operator, &b.mechanic] {
        crate::support::has_password(&b.workshop, person.id).await;
    }
    let served = Served::on(&b);
    let s = Script { served: &served };
    let asked = s.run("otto", &["check", "U-07"], 4);
    assert!(asked.contains("CAUTION. ") && asked.contains("Nothing was done"), "{asked}");
    let places = asked.matches("--answer ").count();
    assert_eq!(places, b.checklist.walk().len(), "{asked}");

    // What is in order need not be typed; what is measured must be, and nothing goes without somebody's word.
    let well = ["check", "U-07", "--hours", "1201.0", "--others-ok"];
    let left = s.run("otto", &[&well[..], &["--looked"]].concat(), 4);
    assert!(left.contains("Nothing was sent"), "{left}");
    let figures: Vec<String> = all_well(&b.checklist, Load::Unladen)
        .into_iter()
        .filter(|a| a.outcome.is_none())
        .map(|a| {
            let at = a.position.map(|p| format!("@{p}")).unwrap_or_default();
            let said = a.level.unwrap_or_else(|| format!("{} {}", a.value.unwrap(), a.unit.unwrap()));
            format!("--answer={}{at}={said}", a.item.unwrap())
        })
        .collect();
    assert_eq!(left.matches("--answer ").count(), figures.len(), "{left}");
    let whole: Vec<&str> = well.into_iter().chain(figures.iter().map(String::as_str)).collect();
    s.run("otto", &whole, 4);
    let passed = s.run("otto", &[&whole[..], &["--looked"]].concat(), 0);
    assert!(passed.contains("fit for use\n"), "{passed}");

    // One that fails grounds, and is one however often it is sent.
    let id = b.workshop.ambient.id::<CheckId>().to_string();
    let failing = [
        &whole[..],
        &["--looked", "--answer", "fuel-leak@left-side=defect: drips on the exhaust", "--id", &id],
    ]
    .concat();
    for _ in 0..2 {
        let failed = s.run("otto", &failing, 0);
        assert!(failed.contains("out of service\n") && failed.contains(&format!("Check {id}")), "{failed}");
    }
    let queue = s.run("mats", &["queue"], 0);
    let number =
        queue.lines().nth(1).and_then(|row| row.split_whitespace().nth(1)).expect("a number").to_owned();
    assert!(s.run("mats", &["claim", &number], 0).contains(&format!("Work order {number} on U-07: claimed")));
    assert!(s.run("mats", &["note", &number, "The hose is chafed at the clamp"], 0).contains("U-07"));
    assert!(s.run("mats", &["wait", &number, "--for", "parts", "--note", "a hose"], 0).contains(": waiting"));
    assert_eq!(run(s.command("mats", &["wait", &number, "--for", "tea"])).0, 2);
    let nothing = s.run("mats", &["retest", &number, "--looked"], 4);
    assert!(
        nothing.contains("Nothing was sent") && nothing.contains("--answer fuel-leak@left-side=…"),
        "{nothing}"
    );
    let asked_again = s.run("otto", &["report", "U-08", "--what", ""], 3);
    assert_eq!(asked_again.trim().lines().count(), 1, "one sentence, once: {asked_again}");
    b.assert_sound().await;
}
