//! The pure rules: what a reading means, what a defect does to a machine, who may do what. No clock, no database, no
//! network, no async; time, history and randomness come in as arguments.

pub mod air;
pub mod alert;
pub mod answers;
pub mod careless;
pub mod checklist;
pub mod checklist_draft;
pub mod checklist_file;
pub mod currency;
pub mod defect;
pub mod good_until;
pub mod history;
pub mod ids;
pub mod judge;
pub mod labour;
pub mod late;
pub mod machine;
pub mod money;
pub mod person;
pub mod pin;
pub mod queue;
pub mod reading;
pub mod refusal;
pub mod release;
pub mod risk;
pub mod shift;
pub mod shipped;
pub mod spoken;
pub mod standing;
pub mod store;
pub mod trend;
pub mod unit;
pub mod watched;
pub mod words;
pub mod work_order;
