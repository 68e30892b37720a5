//! Files that come in, all or nothing, and everything going out again: into another Chock, and read by other programs.

use std::collections::{BTreeMap, BTreeSet};
use std::io::{Cursor, Read};
use std::process::Command;

use chock::domain::hearing::AlertKind;
use chock::domain::import::{ImportKind, ImportOutcome};
use chock::domain::person::{Actor, Role};
use chock::domain::standing::Standing;
use chock::domain::unit::Hours;
use chock::workflow::{self, Import, NewYard, WorkflowError, Workshop};
use sha2::{Digest, Sha256};

use crate::support::browser::{Browser, hidden};
use crate::support::process::{chock_on, run};
use crate::support::{Bench, Engine, PASSWORD, actor, on_both};

on_both!(
    machines_are_taken_all_or_nothing,
    people_get_their_links,
    stock_comes_in_once_and_the_books_hold,
    a_meter_moves_and_does_not_fall,
    a_fleets_file_is_matched_and_never_guessed,
    everything_goes_into_another_chock,
    a_file_on_the_page,
);

async fn look(b: &Bench, kind: ImportKind, file: &str) -> Import {
    workflow::preview_import(&b.workshop, &b.owner, kind, file.as_bytes()).await.unwrap()
}

async fn take(b: &Bench, kind: ImportKind, file: &str) -> Import {
    let taken = workflow::take_import(&b.workshop, &b.owner, kind, file.as_bytes()).await;
    taken.unwrap_or_else(|e| panic!("{e}")).import
}

/// Line, column and sentence of everything wrong.
async fn faults(b: &Bench, kind: ImportKind, file: &str) -> Vec<(u64, String, String)> {
    let seen = look(b, kind, file).await;
    let refused = workflow::take_import(&b.workshop, &b.owner, kind, file.as_bytes()).await;
    assert!(matches!(refused, Err(WorkflowError::Refused(_))), "{refused:?}");
    seen.faults.iter().map(|f| (f.line, f.column.clone(), f.sentence.to_string())).collect()
}

fn counts(import: &Import) -> [usize; 3] {
    [ImportOutcome::Added, ImportOutcome::Changed, ImportOutcome::AlreadySo].map(|o| import.count(o))
}

async fn machines_are_taken_all_or_nothing(b: Bench) {
    let good = "unit number,yard,class,description,serial,engine hours,standing,retired\n\
                T-10,North yard,tractor,\"Blue, with loader\",TF-10,4512.5,,\n\
                U07,North yard,Utility Vehicle,Two-seat,TF-7,99,fit for use,\n\
                Q-3,north yard,quad,,TF-3,12,out of service,\n\
                Q-4,North yard,quad,,,,retired,2026-03-31\n";
    let bad = format!("{good}X-1,West yard,quad,,,1.25,,\nT10,North yard,quad,,,,broken,\n");
    let wrong = faults(&b, ImportKind::Machines, &bad).await;
    let places: Vec<_> = wrong.iter().map(|(line, column, _)| (*line, column.as_str())).collect();
    assert_eq!(places, [(6, "yard"), (6, "engine hours"), (7, "standing"), (7, "unit number")], "{wrong:?}");
    assert!(wrong[0].2.contains("North yard"), "{wrong:?}");
    assert!(workflow::find_machine(&b.workshop, &b.owner, "T-10").await.is_err(), "half a file was taken");

    assert_eq!(counts(&look(&b, ImportKind::Machines, good).await), [3, 1, 0]);
    assert!(
        workflow::find_machine(&b.workshop, &b.owner, "T-10").await.is_err(),
        "looking changed something"
    );
    assert_eq!(counts(&take(&b, ImportKind::Machines, good).await), [3, 1, 0]);
    // Sent twice, it is so already.
    assert_eq!(counts(&take(&b, ImportKind::Machines, good).await), [0, 0, 4]);

    let standing = async |unit| {
        let id = workflow::find_machine(&b.workshop, &b.owner, unit).await.unwrap();
        b.standing(id).await
    };
    assert_eq!(standing("T-10").await, Standing::FitForUse);
    // In doubt: out of service.
    assert_eq!(standing("Q-3").await, Standing::OutOfService);
    assert_eq!(standing("Q-4").await, Standing::Retired);
    let gate = workflow::gate(&b.workshop, &b.owner, b.machine).await.unwrap();
    assert_eq!((gate.machine.serial.as_str(), gate.machine.engine_hours), ("TF-7", Some(Hours(12_000))));

    // A supervisor brings in what is their own yard's, and learns nothing of others.
    let stranger = b.somebody_elsewhere().await;
    let south = good.replace("North yard", "South yard").replace("north yard", "South yard");
    let seen = workflow::preview_import(&b.workshop, &stranger, ImportKind::Machines, south.as_bytes()).await;
    let seen = seen.unwrap();
    assert_eq!(seen.faults.len(), 4, "{seen:?}");
    assert!(seen.faults.iter().all(|f| !f.sentence.contains("North")), "{seen:?}");
    let operator =
        workflow::take_import(&b.workshop, &b.operator, ImportKind::Machines, good.as_bytes()).await;
    assert!(operator.is_err());
    b.assert_sound().await;
}

async fn people_get_their_links(b: Bench) {
    let file = "name;mail address;roles;yards;hourly rate;disabled\r\n\
                Maj Lind;Maj@yard.example;mechanic | Operador;North yard;45,50;no\r\n\
                Old Hand;old@yard.example;operator;North yard;;yes\r\n\
                Mats Mechanic;mats@yard.example;mechanic, supervisor;North yard;60,00;\r\n";
    let taken =
        workflow::take_import(&b.workshop, &b.owner, ImportKind::People, file.as_bytes()).await.unwrap();
    assert_eq!(counts(&taken.import), [2, 1, 0]);
    let [(name, _, secret)] = taken.invited.as_slice() else { panic!("{:?}", taken.invited) };
    assert_eq!(name, "Maj Lind");
    let maj = workflow::accept_invitation(&b.workshop, secret, "", "", "walk round it twice").await.unwrap();
    let maj = actor(&b.workshop, maj).await;
    assert!(maj.has(Role::Mechanic) && maj.has(Role::Operator) && maj.yards == [b.yard]);
    let people = workflow::people(&b.workshop, &b.owner).await.unwrap();
    let of = |mail: &str| people.iter().find(|(p, ..)| p.email == mail).unwrap();
    assert_eq!(of("maj@yard.example").0.rate_minor, 4_550);
    assert!(of("old@yard.example").0.disabled_at.is_some());
    assert_eq!(of("mats@yard.example").1, [Role::Mechanic, Role::Supervisor]);
    let again =
        workflow::take_import(&b.workshop, &b.owner, ImportKind::People, file.as_bytes()).await.unwrap();
    assert_eq!((counts(&again.import), again.invited.len()), ([0, 0, 3], 0));

    let own = "name,mail address,roles,yards\nOlga Owner,olga@yard.example,operator,North yard\n\
               A,no-address,chief,Moon\nB,b@yard.example,operator,\n";
    let wrong = faults(&b, ImportKind::People, own).await;
    let places: Vec<_> = wrong.iter().map(|(line, column, _)| (*line, column.as_str())).collect();
    assert_eq!(places, [(2, "roles"), (3, "roles"), (3, "yards"), (4, "yards")], "{wrong:?}");
    // Only who may set up people.
    let file = file.as_bytes();
    assert!(workflow::preview_import(&b.workshop, &b.supervisor, ImportKind::People, file).await.is_err());
    b.assert_sound().await;
}

async fn stock_comes_in_once_and_the_books_hold(b: Bench) {
    let file = "part number,name,unit,yard,bin,on hand,worth\n\
                BP-1,Brake pad set,set,North yard,A2,,\n\
                OF-3,Oil filter,piece,North yard,B1,4,38.00\n\
                FL-1,Brake fluid,L,North yard,B2,0.35,0\n";
    assert_eq!(counts(&take(&b, ImportKind::Parts, file).await), [2, 1, 0]);
    assert_eq!(counts(&take(&b, ImportKind::Parts, file).await), [0, 0, 3]);
    let parts = workflow::store_parts(&b.workshop, &b.owner).await.unwrap();
    let of = |number: &str| parts.iter().find(|p| p.number == number).unwrap();
    assert_eq!((of("OF-3").on_hand, of("OF-3").worth_minor, of("FL-1").on_hand), (4_000, 3_800, 350));
    assert_eq!((of("BP-1").bin.as_str(), of("BP-1").on_hand), ("A2", 3_000));

    // What has moved is not put right by a file, and nothing else of that file is taken.
    let moved = "part number,name,unit,yard,on hand,worth\n\
                 NW-1,New,piece,North yard,1,1\nBP-1,Brake pad set,set,North yard,7,210.00\nOF-3,Oil filter,L,North yard,,\n\
                 NW-2,New,piece,North yard,2,\n";
    let wrong = faults(&b, ImportKind::Parts, moved).await;
    let places: Vec<_> = wrong.iter().map(|(line, column, _)| (*line, column.as_str())).collect();
    assert_eq!(places, [(3, "on hand"), (4, "unit"), (5, "worth")], "{wrong:?}");
    assert!(wrong[0].2.contains("3 on hand, worth 90.00 EUR"), "{wrong:?}");
    assert!(workflow::store_parts(&b.workshop, &b.owner).await.unwrap().iter().all(|p| p.number != "NW-1"));
    b.assert_sound().await;
}

async fn a_meter_moves_and_does_not_fall(b: Bench) {
    // The bench's clock stands at 06:00 UTC on 25 November 2026; U-07 was added then with 1200.0 hours.
    b.wait(60 * 24);
    let file = "unit number,engine hours,read at\n\
                U-07,1190.0,2026-11-01\nU7,1203.0,2026-11-25 08:00\nu-07,1201.5,2026-11-25 07:30\n";
    assert_eq!(counts(&take(&b, ImportKind::Readings, file).await), [3, 0, 0]);
    assert_eq!(counts(&take(&b, ImportKind::Readings, file).await), [0, 0, 3]);
    let hours =
        async |machine| workflow::gate(&b.workshop, &b.owner, machine).await.unwrap().machine.engine_hours;
    assert_eq!(hours(b.machine).await, Some(Hours(12_030)));

    let falls = "unit number,engine hours,read at,confirmed\n\
                 U-07,1202.9,2026-11-25 09:00,\nU-07,1250,2026-11-10,\nU-08,300.1,2027-01-01,\nU-99,1,2026-11-25,\n\
                 U-08,5000,2026-11-25 10:00,\nU-07,1203.1,2026-11-25 08:00,\n";
    let wrong = faults(&b, ImportKind::Readings, falls).await;
    let places: Vec<_> = wrong.iter().map(|(line, column, _)| (*line, column.as_str())).collect();
    assert_eq!(
        places,
        [
            (2, "engine hours"),
            (3, "engine hours"),
            (4, "read at"),
            (5, "unit number"),
            (6, "engine hours"),
            (7, "engine hours")
        ],
        "{wrong:?}"
    );
    assert_eq!(
        (hours(b.machine).await, hours(b.second_machine).await),
        (Some(Hours(12_030)), Some(Hours(3_000)))
    );
    // A meter that was changed.
    let changed = "unit number,engine hours,read at,confirmed\nU-08,0.5,2026-11-25 10:00,yes\n";
    take(&b, ImportKind::Readings, changed).await;
    assert_eq!(hours(b.second_machine).await, Some(Hours(5)));

    // As reading it at the machine does: use while out of service is told. What it ran before is none.
    workflow::place_hold(&b.workshop, &b.owner, b.workshop.ambient.id(), b.machine, "Looked odd")
        .await
        .unwrap();
    b.wait(120);
    let told = async || {
        let told = workflow::outbox(&b.workshop, &b.owner, 100).await.unwrap();
        told.into_iter().map(|a| a.kind).collect::<Vec<_>>()
    };
    let before = "unit number,engine hours,read at\nU-07,1209,2026-11-25 16:00\n";
    take(&b, ImportKind::Readings, before).await;
    assert!(!told().await.contains(&AlertKind::UsedWhileHeld));
    let used = "unit number,engine hours,read at\nU-07,1212,2026-11-26 08:30\n";
    take(&b, ImportKind::Readings, used).await;
    let told = told().await;
    assert!(told.contains(&AlertKind::UsedWhileHeld), "{told:?}");
    b.assert_sound().await;
}

/// ISO 15143-3 (AEMP 2.0), with its published names of elements.
async fn a_fleets_file_is_matched_and_never_guessed(b: Bench) {
    b.wait(60 * 24);
    take(&b, ImportKind::Machines, "unit number,yard,class,serial\nU-07,North yard,utility vehicle,TF-7\n")
        .await;
    let equipment = |id: &str, serial: &str, hour: &str| {
        format!(
            r#"<Equipment><EquipmentHeader><OEMName>Ternmaker</OEMName><Model>UV2</Model><EquipmentID>{id}</EquipmentID>
            <SerialNumber>{serial}</SerialNumber></EquipmentHeader>
            <CumulativeOperatingHours datetime="2026-11-25T12:00:00Z"><Hour>{hour}</Hour></CumulativeOperatingHours></Equipment>"#
        )
    };
    let file = format!(
        r#"<?xml version="1.0"?><Fleet xmlns="http://standards.iso.org/iso/15143/-3" version="1" snapshotTime="2026-11-25T12:05:00Z">{}{}{}</Fleet>"#,
        // By the serial, whatever its maker calls it.
        equipment("0001", "tf-7", "1204.98"),
        equipment("U 08", "unheard of", "301"),
        equipment("Z-1", "TF-77", "5"),
    );
    let seen = look(&b, ImportKind::Readings, &file).await;
    assert_eq!(
        (counts(&seen), seen.unknown.as_slice()),
        ([2, 0, 0], ["UV2 · TF-77 · Z-1".to_owned()].as_slice())
    );
    take(&b, ImportKind::Readings, &file).await;
    let hours =
        async |machine| workflow::gate(&b.workshop, &b.owner, machine).await.unwrap().machine.engine_hours;
    assert_eq!(
        (hours(b.machine).await, hours(b.second_machine).await),
        (Some(Hours(12_049)), Some(Hours(3_010)))
    );
    let json = r#"{"version":"1","Equipment":[{"EquipmentHeader":{"EquipmentID":"U-08"},
        "CumulativeOperatingHours":{"datetime":"2026-11-25T12:00:00Z","Hour":301.0}}]}"#;
    assert_eq!(counts(&take(&b, ImportKind::Readings, json).await), [0, 0, 1]);
    let falls = json.replace("T12:00", "T13:00").replace("301.0", "300.9");
    assert_eq!(faults(&b, ImportKind::Readings, &falls).await.len(), 1);
    b.assert_sound().await;
}

/// The files of an archive by their names.
fn unpacked(archive: &[u8]) -> BTreeMap<String, Vec<u8>> {
    let mut zip = zip::ZipArchive::new(Cursor::new(archive)).expect("an archive");
    let mut files = BTreeMap::new();
    for n in 0..zip.len() {
        let mut file = zip.by_index(n).unwrap();
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes).unwrap();
        let name = file.name().expect("a name").into_owned();
        files.insert(name, bytes);
    }
    files
}

async fn exported(w: &Workshop, owner: &Actor) -> BTreeMap<String, Vec<u8>> {
    let mut archive = Cursor::new(Vec::new());
    workflow::export_everything(w, owner, &mut archive).await.unwrap();
    unpacked(archive.get_ref())
}

/// Rows of a file as Python's csv module reads them.
fn read_by_python(file: &[u8]) -> Vec<Vec<String>> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("table.csv");
    std::fs::write(&path, file).unwrap();
    let python = std::env::var("CHOCK_TEST_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let program = "import csv, json, sys\n\
                   with open(sys.argv[1], newline='', encoding='utf-8') as f:\n\
                   \x20   print(json.dumps(list(csv.reader(f, strict=True))))";
    let output = Command::new(python).args(["-c", program]).arg(&path).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}

async fn everything_goes_into_another_chock(b: Bench) {
    let w = &b.workshop;
    // A day in which everything happens, and names that no spreadsheet should run.
    take(
        &b,
        ImportKind::Machines,
        "unit number,yard,class,description,serial,engine hours,standing,retired\n\
         T-1,North yard,tractor,'=HYPERLINK(1),'-5,10,,\nQ-9,North yard,quad,\"two\nlines, \"\"quoted\"\"\",,1,,2026-03-31\n",
    )
    .await;
    b.submit(b.check(b.machine, 12_010)).await;
    b.wait(10);
    let order = b.ground(b.second_machine).await;
    b.wait(10);
    b.repair(order).await;
    b.wait(10);
    b.pass_retests(order).await;
    workflow::release(w, &b.supervisor, order, "Tried it").await.unwrap();
    b.wait(10);
    take(
        &b,
        ImportKind::Parts,
        "part number,name,unit,yard,bin,on hand,worth\nOF-3,'@filter,piece,North yard,B1,4,38.00\n",
    )
    .await;
    take(
        &b,
        ImportKind::Readings,
        "unit number,engine hours,read at\nT-1,9,2026-11-01\nT-1,8.5,2026-10-01\n",
    )
    .await;
    b.assert_sound().await;

    let files = exported(w, &b.owner).await;
    let names: BTreeSet<_> = files.keys().map(String::as_str).collect();
    for name in [
        "README.txt",
        "LEEME.txt",
        "checks.csv",
        "answers.csv",
        "defects.csv",
        "holds.csv",
        "work-orders.csv",
        "labour.csv",
        "stock-movements.csv",
        "releases.csv",
        "outbox.csv",
        "audit.csv",
    ] {
        assert!(names.contains(name), "{name} is not in {names:?}");
    }
    let whole: String = files.values().map(|f| String::from_utf8_lossy(f).into_owned()).collect();
    assert!(!whole.contains("argon2"), "a password's hash went out");

    // Read back by another program: every row as wide as the first, nothing that would run.
    for (name, file) in files.iter().filter(|(name, _)| name.ends_with(".csv")) {
        let rows = read_by_python(file);
        assert!(rows.iter().all(|r| r.len() == rows[0].len()), "{name}");
        let ours = csv::ReaderBuilder::new().has_headers(false).from_reader(file.as_slice()).into_records();
        let ours: Vec<Vec<String>> = ours.map(|r| r.unwrap().iter().map(str::to_owned).collect()).collect();
        assert_eq!(rows, ours, "{name}");
        let runs = |cell: &String| {
            cell.starts_with(['=', '+', '@', '\t', '\r'])
                || (cell.starts_with('-') && cell.parse::<f64>().is_err())
        };
        assert!(!rows.iter().flatten().any(runs), "{name}");
    }
    let rows = |name: &str| read_by_python(&files[name]);
    assert_eq!(rows("checks.csv").len(), 3);
    assert_eq!(rows("releases.csv").len(), 2);
    let machines = rows("machines.csv");
    let tractor = machines.iter().find(|r| r[0] == "T-1").unwrap();
    assert_eq!((tractor[3].as_str(), tractor[4].as_str()), ("'=HYPERLINK(1)", "'-5"));

    // The chain can be reckoned again from the file alone.
    let audit = rows("audit.csv");
    let column = |name: &str| audit[0].iter().position(|c| c == name).unwrap();
    let (stream, previous, hash, hashed) =
        (column("stream"), column("previous hash"), column("hash"), column("hashed"));
    let mut last: BTreeMap<String, String> = BTreeMap::new();
    for row in &audit[1..] {
        let digest: String =
            Sha256::digest(row[hashed].as_bytes()).iter().map(|b| format!("{b:02x}")).collect();
        assert_eq!(digest, row[hash]);
        let said: Vec<serde_json::Value> = serde_json::from_str(&row[hashed]).unwrap();
        assert_eq!(said[10].as_str(), Some(row[previous].as_str()));
        assert_eq!(last.insert(row[stream].clone(), row[hash].clone()).unwrap_or_default(), row[previous]);
    }
    assert!(audit.len() > 30 && audit.iter().any(|r| r[column("act")] == "everything taken out"));

    // An empty Chock, with the same yard.
    let engine = if b.workshop.db.is_sqlite() { Engine::Sqlite } else { Engine::Postgres };
    let other = empty(engine, &b).await;
    for kind in [ImportKind::Machines, ImportKind::People, ImportKind::Parts, ImportKind::Readings] {
        let file = &files[&format!("{kind}.csv")];
        let seen = workflow::preview_import(&other.0, &other.1, kind, file).await.unwrap();
        assert!(seen.faults.is_empty(), "{kind}: {:?}", seen.faults);
        workflow::take_import(&other.0, &other.1, kind, file).await.unwrap();
        let again = workflow::preview_import(&other.0, &other.1, kind, file).await.unwrap();
        assert!(!again.changes_something(), "{kind}: {:?}", again);
    }
    let there = exported(&other.0, &other.1).await;
    for kind in ImportKind::ALL {
        let name = format!("{kind}.csv");
        let (here, there) = (String::from_utf8_lossy(&files[&name]), String::from_utf8_lossy(&there[&name]));
        assert_eq!(here, there, "{name}");
    }
    let report = workflow::verify(&other.0).await.unwrap();
    assert!(report.sound(), "{:?}", report.breaches);
    assert!(workflow::export_everything(w, &b.supervisor, Cursor::new(Vec::new())).await.is_err());
}

/// An owner of the same name, and one yard.
async fn empty(engine: Engine, b: &Bench) -> (Workshop, Actor, tempfile::TempDir) {
    let folder = tempfile::tempdir().unwrap();
    let url = crate::support::database(engine, &folder).await;
    let db = chock::storage::Db::open(&url).await.unwrap();
    let w = Workshop::new(db, b.workshop.ambient.clone(), "EUR");
    let link = workflow::first_owner_link(&w).await.unwrap().unwrap();
    let owner = workflow::accept_invitation(&w, &link, "Olga Owner", "olga@yard.example", "check before use")
        .await
        .unwrap();
    let owner = actor(&w, owner).await;
    let yard = NewYard {
        name: "North yard".into(),
        zone: "Europe/Oslo".into(),
        one_person: false,
        altitude_m: None,
    };
    workflow::add_yard(&w, &owner, yard).await.unwrap();
    (w, owner, folder)
}

async fn a_file_on_the_page(b: Bench) {
    let olga = Browser::of(&b.workshop, &b.owner).await;
    olga.get("/set-up/import").await.is(200).says("Meter readings");
    let page = olga.get("/set-up/import/people").await;
    page.is(200).says("mail address").says("empty.csv");
    let empty = olga.get("/set-up/import/people/empty.csv").await;
    assert_eq!(empty.html, "name,mail address,roles,yards,hourly rate,disabled\r\n");
    olga.get("/set-up/import/moon").await.is(404);

    let here = "/set-up/import/people";
    let send =
        async |file: &str| olga.send_files(here, &[], &[("file", "people.csv", file.as_bytes())]).await;
    let file =
        "name,mail address,roles,yards\n\"Maj \"\"M\"\" <Lind>\",maj@yard.example,operator,North yard\n";
    send(&file.replace("operator", "chief"))
        .await
        .is(422)
        .says("One thing must be mended")
        .says("“chief” is no role");
    olga.send_files(here, &[], &[]).await.is(422).says("Choose a file.");
    let seen = send(file).await;
    seen.is(200).says("1 to add").says("Take all of it").says("Maj &#34;M&#34; &#60;Lind&#62;");
    let text = hidden(&seen, "text").replace("&#34;", "\"").replace("&#60;", "<").replace("&#62;", ">");
    assert_eq!(text, file);
    let fields = [("text".to_owned(), text), ("do".to_owned(), "take".to_owned())];
    let taken = olga.send_files(here, &fields, &[]).await;
    taken.is(200).says("1 added").says("http://yard.example/welcome/");
    // A double tap: nobody is doubled.
    olga.send_files(here, &fields, &[]).await.is(200).says("0 added, 0 changed, 1 already so");
    send(file).await.is(200).says("There is nothing to take");

    // What is taken is judged again: the yard may have changed since.
    let broken = [("text".to_owned(), file.replace("North", "West")), ("do".to_owned(), "take".to_owned())];
    olga.send_files(here, &broken, &[]).await.is(422).says("West yard");
    let sara = Browser::of(&b.workshop, &b.supervisor).await;
    sara.get("/set-up/import/people").await.is(403);
    sara.get("/set-up/import/machines").await.is(200);
    // What nobody could check is said before it is taken.
    let quads = "unit number,yard,class\nQ-1,North yard,quad\nU-20,North yard,utility vehicle\n";
    let seen =
        sara.send_files("/set-up/import/machines", &[], &[("file", "machines.csv", quads.as_bytes())]).await;
    seen.is(200).says("2 to add").says("No checklist covers the class “quad”: Q-1").says_not(": U-20 cannot");
    let archive = olga.send("/set-up/records/export", &[("password", PASSWORD)]).await;
    archive.is(200);
    assert!(unpacked(&archive.bytes).contains_key("machines.csv"));
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn from_the_terminal() {
    let b = Bench::on_real_time(Engine::Sqlite).await;
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("machines.csv");
    let path = file.to_str().unwrap();
    std::fs::write(&file, "unit number,yard,class\nT-10,North yard,tractor\nT-11,Moon,tractor\n").unwrap();
    let (code, said) = run(chock_on(&b, &["import", "machines", path]));
    assert_eq!(code, 3, "{said}");
    assert!(said.contains(&format!("{path}:3: yard: ")) && said.contains("Nothing was taken."), "{said}");
    std::fs::write(&file, "unit number,yard,class\nT-10,North yard,tractor\n").unwrap();
    let (code, said) = run(chock_on(&b, &["import", "machines", path, "--check"]));
    assert!(code == 0 && said.contains("1 to add") && said.contains("Nothing was taken."), "{said}");
    // The bench's one checklist is for utility vehicles.
    let warned = "No checklist covers the class \"tractor\": 1 machine cannot be checked before use (T-10).";
    assert!(said.contains(warned), "{said}");
    let (code, said) = run(chock_on(&b, &["import", "machines", path, "--by", "sara@yard.example"]));
    assert!(code == 0 && said.contains("Taken."), "{said}");
    let (code, said) = run(chock_on(&b, &["import", "machines", path]));
    assert!(code == 0 && said.contains("0 to add, 0 to change, 1 already so"), "{said}");
    let (code, said) = run(chock_on(&b, &["import", "moons", path]));
    assert_eq!(code, 2, "{said}");
    let (code, said) = run(chock_on(&b, &["import", "machines", "/nowhere/at/all.csv"]));
    assert_eq!(code, 1, "{said}");

    let to = folder.path().join("all.zip");
    let (code, said) = run(chock_on(&b, &["export", "--to", to.to_str().unwrap()]));
    assert_eq!(code, 0, "{said}");
    let files = unpacked(&std::fs::read(&to).unwrap());
    assert!(String::from_utf8_lossy(&files["machines.csv"]).contains("T-10"));
    let (code, said) = run(chock_on(&b, &["export", "--to", to.to_str().unwrap()]));
    assert!(code == 1 && said.contains("never overwrites"), "{said}");
}
