//! The closed vocabularies as the OpenAPI document lists them, and small shapes that several answers share.

use serde::Serialize;
use utoipa::ToSchema;
use utoipa::openapi::schema::{ObjectBuilder, Type};
use utoipa::openapi::{RefOr, Schema};
use uuid::Uuid;

use crate::domain::ids::PersonId;
use crate::domain::{
    alert, caller, careless, checklist, defect, hearing, import, person, reading, reliability, retention,
    risk, standing, store, unit, watched, work_order,
};
use crate::workflow;

macro_rules! word_schemas {
    ($($name:ident: $words:ty),* $(,)?) => {$(
        pub struct $name;

        impl utoipa::PartialSchema for $name {
            fn schema() -> RefOr<Schema> {
                let words = <$words>::ALL.iter().map(|w| w.as_str());
                ObjectBuilder::new().schema_type(Type::String).enum_values(Some(words)).into()
            }
        }

        impl utoipa::ToSchema for $name {}
    )*};
}

word_schemas! {
    Standing: standing::Standing,
    Severity: standing::Severity,
    System: checklist::System,
    Asked: checklist::Asked,
    Picture: checklist::Picture,
    Load: checklist::Load,
    Warmth: checklist::Warmth,
    Watched: watched::Watched,
    Outcome: reading::Outcome,
    Level: reading::Level,
    Unit: unit::Unit,
    DefectState: defect::DefectState,
    OrderState: work_order::OrderWord,
    WaitingFor: work_order::WaitingFor,
    YesOrNo: risk::YesOrNo,
    Harm: risk::Harm,
    Certain: risk::Certain,
    Category: risk::Category,
    Probability: risk::Probability,
    RiskLevel: risk::RiskLevel,
    Role: person::Role,
    CarelessSign: careless::Sign,
    MovementKind: store::MovementKind,
    AdjustmentReason: store::put_right::AdjustmentReason,
    Phase: reliability::restoration::Phase,
    DeliveryState: workflow::OutboxState,
    ImportKind: import::ImportKind,
    ImportOutcome: import::ImportOutcome,
    SignInKind: caller::SignInKind,
    AlertKind: hearing::AlertKind,
    AlertState: alert::AlertState,
    AlertWanted: hearing::Wanted,
    RecordKind: retention::RecordKind,
    UnitSystem: unit::UnitSystem,
}

/// An amount of money, exact.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct Money {
    /// In minor units: 1250 is 12.50.
    minor: i64,
    /// ISO 4217.
    #[schema(example = "EUR")]
    currency: String,
}

#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct Person {
    id: Uuid,
    name: String,
}

/// What was made.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct Made {
    pub id: Uuid,
}

/// Takes off what is more than was asked for. Whether there was more.
pub fn cut<T>(rows: &mut Vec<T>, most: i64) -> bool {
    let most = usize::try_from(most).unwrap_or(usize::MAX);
    let more = rows.len() > most;
    rows.truncate(most);
    more
}

impl Money {
    pub fn new(minor: i64, currency: &str) -> Self {
        Self { minor, currency: currency.to_owned() }
    }
}

impl Person {
    pub const fn id(&self) -> Uuid {
        self.id
    }

    pub fn new(id: PersonId, name: &str) -> Self {
        Self { id: id.0, name: name.to_owned() }
    }
}

/// A file as it is.
pub struct Bytes;

impl utoipa::PartialSchema for Bytes {
    fn schema() -> RefOr<Schema> {
        ObjectBuilder::new().schema_type(Type::String).description(Some("The bytes of the file")).into()
    }
}

impl utoipa::ToSchema for Bytes {}
