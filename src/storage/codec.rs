//! How the domain's ids and words are written in a column: ids as UUID, words as their one spelling.

use sqlx::encode::IsNull;
use sqlx::error::BoxDynError;
use sqlx::{Database, Decode, Encode, Type};
use uuid::Uuid;

use super::outbox::OutboxState;
use crate::domain::checklist::{Load, System, Warmth};
use crate::domain::defect::DefectState;
use crate::domain::hearing::{AlertKind, Wanted};
use crate::domain::ids::*;
use crate::domain::labour::ForgottenBecause;
use crate::domain::person::Role;
use crate::domain::reading::Outcome;
use crate::domain::standing::{Severity, Standing};
use crate::domain::store::MovementKind;
use crate::domain::store::put_right::AdjustmentReason;
use crate::domain::unit::{Hours, Measured};
use crate::domain::watched::Watched;
use crate::domain::work_order::{OrderWord, WaitingFor};
use crate::words::Text;

macro_rules! as_column {
    ($base:ty : $($t:ty),* ; |$from:ident| $to_base:expr ; |$raw:ident| $to_domain:expr) => {$(
        impl<DB: Database> Type<DB> for $t where $base: Type<DB> {
            fn type_info() -> DB::TypeInfo {
                <$base as Type<DB>>::type_info()
            }
            fn compatible(ty: &DB::TypeInfo) -> bool {
                <$base as Type<DB>>::compatible(ty)
            }
        }
        impl<'q, DB: Database> Encode<'q, DB> for $t where $base: Encode<'q, DB> {
            fn encode_by_ref(&self, buf: &mut <DB as Database>::ArgumentBuffer) -> Result<IsNull, BoxDynError> {
                let $from = self;
                <$base as Encode<'q, DB>>::encode($to_base, buf)
            }
        }
        impl<'r, DB: Database> Decode<'r, DB> for $t where $base: Decode<'r, DB> {
            fn decode(value: <DB as Database>::ValueRef<'r>) -> Result<Self, BoxDynError> {
                let $raw = <$base as Decode<'r, DB>>::decode(value)?;
                $to_domain
            }
        }
    )*};
}

as_column!(Uuid: PersonId, YardId, MachineId, ChecklistId, CheckId, DefectId, HoldId, WorkOrderId, LabourId, AbsenceId, PartId,
    PartLineId, MovementId, ReservationId, OnOrderId, CountId, FittedId, RoundId, RetestId, ReleaseId, PhotoId, AlertId, DraftId, DeviceId,
    OrderNoteId, OutsideId, WebhookId, WebhookMessageId;
    |id| id.0 ; |raw| Ok(Self(raw)));

as_column!(String: Role, Severity, Standing, Outcome, Load, System, DefectState, OrderWord, WaitingFor, MovementKind, AdjustmentReason,
    OutboxState, Warmth, Watched, ForgottenBecause, AlertKind, Wanted;
    |word| word.as_str().to_owned() ; |raw| Ok(raw.parse()?));

// A figure with its unit, as JSON.
as_column!(String: Measured; |figure| serde_json::to_string(figure)? ; |raw| Ok(serde_json::from_str(&raw)?));

// In every language; as it is when it is the same in all.
as_column!(String: Text; |text| text.kept() ; |raw| Ok(Self::from_kept(&raw)));

as_column!(i64: Hours; |hours| hours.0 ; |raw| Ok(Self(raw)));
