//! The trust itself. Every name, number and figure here is invented.

use chrono::{DateTime, NaiveTime, TimeDelta, Utc};

use super::simulated::Simulated;
use crate::domain::ids::{MachineId, PartId, PersonId, YardId};
use crate::domain::person::{Actor, Role};
use crate::domain::refusal::{Refusal, Thing};
use crate::domain::shift::Span;
use crate::domain::shipped::SHIPPED;
use crate::domain::unit::Hours;
use crate::words::Text;
use crate::workflow::{
    self, NewMachine, NewPart, NewPerson, NewSupply, NewYard, StorePolicy, WorkflowError, Workshop,
};

pub const TRUST: &str = "Ternfield Land Trust (invented)";
/// One password for every invented person; the demo has nothing to protect.
pub const PASSWORD: &str = "walk round it first";
/// Whom to sign in as, by what they do.
pub const SIGN_INS: &[(&str, &str, &str)] = &[
    ("operator", "Ines Okafor", "ines@ternfield.example"),
    ("mechanic", "Tom Hale", "tom@ternfield.example"),
    ("supervisor", "Ruth Calder", "ruth@ternfield.example"),
    ("owner", "Margaret Lindqvist", "margaret@ternfield.example"),
];
pub const DAYS: i64 = 120;

pub struct Trust {
    pub owner: Actor,
    pub people: Vec<Actor>,
    pub machines: Vec<Placed>,
    pub parts: Vec<PartId>,
}

#[derive(Clone, Debug)]
pub struct Placed {
    pub unit_number: &'static str,
    pub id: MachineId,
    pub yard: YardId,
    pub hours: Option<Hours>,
}

const ZONE: &str = "Europe/London";
/// Name, and metres above sea level.
const YARDS: [(&str, i64); 3] = [("Alder Cross", 85), ("Quarry Bank", 240), ("Saltmarsh", 3)];

/// Joined this week: all repairs of the last days are his, and none of the history's.
pub const NEWEST_MECHANIC: &str = "Piet Marsh";
/// Days ago.
const NEWEST_SINCE: i64 = 4;

/// Name, local part of the address, roles, yards by index, rate an hour in minor units.
type Hand = (&'static str, &'static str, &'static [Role], &'static [usize], i64);

const PEOPLE: &[Hand] = &[
    ("Ruth Calder", "ruth", &[Role::Supervisor], &[0, 1, 2], 0),
    ("Owen Pritchard", "owen", &[Role::Supervisor, Role::Operator], &[1], 0),
    ("Sade Whitcombe", "sade", &[Role::Supervisor], &[2], 0),
    ("Tom Hale", "tom", &[Role::Mechanic], &[0, 1, 2], 4_200),
    (NEWEST_MECHANIC, "piet", &[Role::Mechanic], &[0, 1, 2], 3_800),
    ("Noor Haddad", "noor", &[Role::Mechanic, Role::Operator], &[1, 2], 4_000),
    ("Ines Okafor", "ines", &[Role::Operator], &[0, 1], 0),
    ("Dara Quill", "dara", &[Role::Operator], &[0], 0),
    ("Callum Breck", "callum", &[Role::Operator], &[0], 0),
    ("Hattie Rowe", "hattie", &[Role::Operator], &[1], 0),
    ("Jon Fairlie", "jon", &[Role::Operator], &[1], 0),
    ("Mirela Stan", "mirela", &[Role::Operator], &[2], 0),
    ("Gwyn Tasker", "gwyn", &[Role::Operator], &[2], 0),
];

/// Unit number, class, yard, description, hours on the meter 120 days ago.
const MACHINES: &[(&str, &str, usize, &str, Option<i64>)] = &[
    ("U-01", "utility vehicle", 0, "Six-seat crew vehicle", Some(12_480)),
    ("U-02", "utility vehicle", 0, "Two-seat with tipping bed", Some(9_031)),
    ("U-03", "utility vehicle", 0, "Two-seat with tipping bed", Some(8_774)),
    ("U-04", "utility vehicle", 0, "Two-seat, winch", Some(4_120)),
    ("U-05", "utility vehicle", 1, "Two-seat with tipping bed", Some(15_602)),
    ("U-06", "utility vehicle", 1, "Crew vehicle, cab heater", Some(7_015)),
    ("U-07", "utility vehicle", 1, "Two-seat, sprayer frame", Some(11_260)),
    ("U-08", "utility vehicle", 2, "Two-seat, wide tyres", Some(2_988)),
    ("U-09", "utility vehicle", 2, "Two-seat with tipping bed", Some(6_341)),
    ("Q-01", "quad", 0, "Ranger's quad", Some(5_210)),
    ("Q-02", "quad", 0, "Quad with seed spreader", Some(3_380)),
    ("Q-03", "quad", 1, "Quad with flail hitch", Some(8_150)),
    ("Q-04", "quad", 2, "Marsh quad, wide tyres", Some(2_045)),
    ("Q-05", "quad", 2, "Marsh quad, wide tyres", Some(1_990)),
    ("T-01", "compact tractor", 0, "Orchard tractor", Some(21_870)),
    ("T-02", "compact tractor", 1, "Tractor with front loader", Some(30_415)),
    ("T-03", "compact tractor", 2, "Tractor with timber winch", Some(18_003)),
    ("K-01", "tracked carrier", 1, "Tracked dumper, 800 kg", Some(6_620)),
    ("K-02", "tracked carrier", 2, "Tracked carrier for boardwalks", Some(4_455)),
    ("K-03", "tracked carrier", 2, "Tracked dumper, 500 kg", Some(7_902)),
    ("R-01", "trailer", 0, "Flat trailer, 750 kg", None),
    ("R-02", "trailer", 0, "Livestock trailer", None),
    ("R-03", "trailer", 1, "Tipping trailer", None),
    ("R-04", "trailer", 2, "Boat trailer", None),
];

/// Number, name, unit, bin, how much, what it cost in all.
const PARTS: &[(&str, &str, &str, &str, &str, &str)] = &[
    ("BP-210", "Brake pad set, one axle", "set", "A1", "14", "518.00"),
    ("BF-004", "Brake fluid", "L", "F2", "12.5", "143.75"),
    ("SB-031", "Seat belt with retractor", "each", "B3", "6", "534.00"),
    ("TY-250", "Tyre 25 inch", "each", "Rack", "8", "1048.00"),
    ("FL-008", "Fuel line 8 mm", "m", "C1", "20", "92.00"),
    ("AF-112", "Air filter", "each", "C4", "9", "171.00"),
    ("CL-001", "Coolant, ready mixed", "L", "F1", "40", "158.00"),
    ("EO-540", "Engine oil", "L", "F1", "60", "414.00"),
    ("LB-012", "Lamp bulb 12 V", "each", "D2", "30", "48.00"),
    ("CB-019", "Accelerator cable", "each", "D5", "3", "66.00"),
    ("HN-002", "Horn 12 V", "each", "D6", "4", "58.00"),
];

/// Part by index, supplier, price of one, least order, pack, days it takes, level set by hand.
const SUPPLY: &[(usize, &str, &str, &str, &str, &str, &str)] = &[
    (0, "Fjell Supplies (invented)", "37.00", "4", "2", "5", "4"),
    (1, "Fjell Supplies (invented)", "11.50", "5", "1", "5", ""),
    (2, "Holm and Daughters (invented)", "89.00", "", "", "12", "2"),
    (3, "Holm and Daughters (invented)", "131.00", "4", "", "9", ""),
    (5, "Fjell Supplies (invented)", "19.00", "", "6", "5", ""),
    (9, "Holm and Daughters (invented)", "22.00", "", "", "10", "2"),
];

/// Part by index, and how many of it went to the second yard.
const SHARED: &[(usize, &str)] =
    &[(0, "5"), (1, "4"), (3, "3"), (4, "8"), (5, "3"), (6, "12"), (7, "20"), (8, "10")];

/// Wanted on an ordinary day: yard, class, how many.
const NEEDS: &[(usize, &str, i64)] = &[
    (0, "utility vehicle", 3),
    (0, "quad", 2),
    (0, "compact tractor", 1),
    (0, "trailer", 1),
    (1, "utility vehicle", 3),
    (1, "quad", 1),
    (1, "compact tractor", 1),
    (1, "tracked carrier", 1),
    (2, "utility vehicle", 2),
    (2, "quad", 1),
    (2, "compact tractor", 1),
    (2, "tracked carrier", 1),
];

/// Makes the trust as it stood before its history begins, through the same doors that people use.
pub async fn set_up(
    workshop: &Workshop,
    time: &Simulated,
    until: DateTime<Utc>,
) -> Result<Trust, WorkflowError> {
    time.set(until - TimeDelta::days(DAYS + 1));
    let (_, owner_name, owner_mail) = SIGN_INS[3];
    let link = workflow::first_owner_link(workshop).await?.ok_or_else(|| {
        // Read by whoever starts the demo at a terminal, where nothing else is translated either.
        Refusal::conflict(Text::typed(
            "There are people in this database already; the demo wants an empty one.",
        ))
    })?;
    let owner = workflow::accept_invitation(workshop, &link, owner_name, owner_mail, PASSWORD).await?;
    let owner = actor(workshop, owner).await?;
    let mut yards = Vec::new();
    for (name, altitude_m) in YARDS {
        let yard = NewYard {
            name: name.to_owned(),
            zone: ZONE.to_owned(),
            one_person: false,
            altitude_m: Some(altitude_m),
        };
        yards.push(workflow::add_yard(workshop, &owner, yard).await?);
    }
    for (yard, class, needed) in NEEDS {
        workflow::set_need(workshop, &owner, yards[*yard], class, *needed).await?;
    }
    let week = working_week();
    for yard in &yards {
        workflow::set_week(workshop, &owner, *yard, &week).await?;
    }
    for (_, source) in SHIPPED {
        workflow::upload_checklist(workshop, &owner, source).await?;
    }
    let mut people = Vec::new();
    for (name, address, roles, at, rate) in PEOPLE {
        let person = NewPerson {
            name: (*name).to_owned(),
            email: format!("{address}@ternfield.example"),
            roles: roles.to_vec(),
            yards: at.iter().map(|i| yards[*i]).collect(),
            rate_minor: *rate,
        };
        let (id, _) = workflow::add_person(workshop, &owner, person).await?;
        workflow::set_password(workshop, id, PASSWORD).await?;
        people.push(actor(workshop, id).await?);
    }
    for yard in &yards {
        let supervisor = people.iter().find(|p| p.has(Role::Supervisor) && p.in_yard(*yard));
        let chain = supervisor.map(|s| (s.id, 20)).into_iter().chain([(owner.id, 25)]).collect();
        workflow::set_chain(workshop, &owner, *yard, chain).await?;
        workflow::set_digest(workshop, &owner, *yard, NaiveTime::from_hms_opt(6, 30, 0)).await?;
    }
    if let Some(newest) = people.iter().find(|p| p.name == NEWEST_MECHANIC) {
        let before = Span::new(until - TimeDelta::days(DAYS + 1), until - TimeDelta::days(NEWEST_SINCE));
        workflow::add_absence(workshop, &owner, yards[0], newest.id, before, "begins after this").await?;
    }
    let mut machines = Vec::new();
    for (unit_number, class, yard, description, hours) in MACHINES {
        let machine = NewMachine {
            yard: yards[*yard],
            unit_number: (*unit_number).to_owned(),
            class: (*class).to_owned(),
            description: (*description).to_owned(),
            serial: format!("INV-{unit_number}"),
            engine_hours: hours.map(Hours),
        };
        let id = workflow::add_machine(workshop, &owner, machine).await?;
        machines.push(Placed { unit_number, id, yard: yards[*yard], hours: hours.map(Hours) });
    }
    let mut parts = Vec::new();
    for (number, name, unit, bin, quantity, value) in PARTS {
        let part = NewPart {
            number: (*number).to_owned(),
            name: (*name).to_owned(),
            unit: (*unit).to_owned(),
            bin: (*bin).to_owned(),
            yard: yards[0],
        };
        let id = workflow::add_part(workshop, &owner, part).await?;
        let note = "opening stock, invented";
        workflow::receive_part(workshop, &owner, id, yards[0], quantity, value, note).await?;
        parts.push(id);
    }
    buy_and_share(workshop, &owner, &parts, &yards).await?;
    Ok(Trust { owner, people, machines, parts })
}

/// How some parts are bought, at what level, and what the second yard has of them. All of it invented.
async fn buy_and_share(
    workshop: &Workshop,
    owner: &Actor,
    parts: &[PartId],
    yards: &[YardId],
) -> Result<(), WorkflowError> {
    for (part, supplier, price, least, pack, days, level) in SUPPLY {
        let terms = NewSupply {
            supplier: (*supplier).to_owned(),
            price: (*price).to_owned(),
            minimum_order: (*least).to_owned(),
            pack: (*pack).to_owned(),
            lead_days: (*days).to_owned(),
        };
        workflow::set_supply(workshop, owner, parts[*part], terms).await?;
        let bin = PARTS[*part].3;
        workflow::place_part(workshop, owner, parts[*part], yards[0], bin, level).await?;
    }
    let rules =
        StorePolicy { service_level: "95".to_owned(), order_cost: "25".to_owned(), holding: "20".to_owned() };
    workflow::set_store_policy(workshop, owner, rules).await?;
    if let [first, second, ..] = yards {
        for (part, quantity) in SHARED {
            let (id, way) = (workshop.ambient.id(), (*first, *second));
            workflow::transfer_stock(workshop, owner, id, parts[*part], way, quantity, "").await?;
        }
    }
    Ok(())
}

/// Monday to Friday, and a short Saturday, at every yard.
pub fn working_week() -> [String; 7] {
    ["07:00-16:00", "07:00-16:00", "07:00-16:00", "07:00-16:00", "07:00-16:00", "08:00-12:00", ""]
        .map(str::to_owned)
}

async fn actor(workshop: &Workshop, id: PersonId) -> Result<Actor, WorkflowError> {
    Ok(workflow::actor_of_token(workshop, id).await?.ok_or(Refusal::NotFound(Thing::Person))?)
}
