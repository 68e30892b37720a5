//! Identities. Each is a newtype over a UUID, so that a machine's id can never be passed for a defect's.

use serde::{Deserialize, Serialize};
use uuid::Uuid;

macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident),* $(,)?) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub Uuid);

        impl From<Uuid> for $name {
            fn from(raw: Uuid) -> Self {
                Self(raw)
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                self.0.fmt(f)
            }
        }

        impl std::str::FromStr for $name {
            type Err = uuid::Error;
            fn from_str(text: &str) -> Result<Self, Self::Err> {
                Uuid::parse_str(text).map(Self)
            }
        }
    )*};
}

ids! {
    PersonId,
    YardId,
    MachineId,
    /// One version of one checklist.
    ChecklistId,
    DraftId,
    /// Made by the client (UUIDv7), so that sending a check again is harmless.
    CheckId,
    DefectId,
    HoldId,
    WorkOrderId,
    LabourId,
    OrderNoteId,
    /// A repair that is done outside.
    OutsideId,
    AbsenceId,
    PartId,
    PartLineId,
    MovementId,
    ReservationId,
    /// What of a part is on its way from a supplier.
    OnOrderId,
    /// One sheet of a stock-take, made by the client.
    CountId,
    /// A part that was fitted to a machine.
    FittedId,
    /// One round of raising the same defect on many machines, made by the client.
    RoundId,
    RetestId,
    ReleaseId,
    PhotoId,
    AlertId,
    /// An address of another program.
    WebhookId,
    WebhookMessageId,
    /// A tablet or phone that several people use.
    DeviceId,
}
