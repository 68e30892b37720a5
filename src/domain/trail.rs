//! What the audit trail says. An act and the kind of its subject are fixed words, which are kept as they are and said in
//! the language of whoever reads; what was before and after, and why, are kept in every language.

use super::words::words;
use crate::words::Text;

words! {
    TrailAct {
        CheckSubmitted = "check submitted",
        DefectRaised = "defect raised",
        DefectSeenAgain = "defect seen again",
        DefectWorse = "defect worse",
        DefectSaidSame = "defect said to be the same",
        DefectSaidWorse = "defect said to be worse",
        DefectSaidGone = "defect said to be gone",
        DefectCameBack = "defect came back",
        DefectWorkedOn = "defect worked on",
        DefectBackToWork = "defect back to work",
        DefectMoved = "defect moved",
        DefectClosed = "defect closed",
        RepairDidNotHold = "repair did not hold",
        GoodUntilPassed = "good-until passed",
        SeverityRaised = "severity raised",
        SeverityLowered = "severity lowered",
        HoldPlaced = "hold placed",
        HoldCountsFromEarlier = "hold counts from earlier",
        HoldLifted = "hold lifted",
        HoldsLifted = "holds lifted",
        OrderOpened = "work order opened",
        OrderClaimed = "work order claimed",
        OrderHandedBack = "work order handed back",
        OrderWaits = "work order waits",
        OrderCancelled = "work order cancelled",
        OrderBackToWork = "work order back to work",
        OrderEnded = "work order ended",
        OrderPinned = "work order pinned",
        OrderUnpinned = "work order unpinned",
        OrderSplit = "work order split",
        OrdersMerged = "work orders merged",
        OrderNoted = "note left",
        SentOutside = "sent for repair outside",
        PromisedOutside = "repair outside promised",
        ChasedOutside = "repair outside asked after",
        BackFromOutside = "back from repair outside",
        InvoicedOutside = "repair outside invoiced",
        OutsideCalledOff = "repair outside called off",
        OutsideLate = "repair outside late",
        WorkStarted = "work started",
        WorkDone = "work done",
        LabourStarted = "labour started",
        LabourStopped = "labour stopped",
        LabourEntered = "labour entered",
        LabourPutRight = "labour put right",
        TimerClosed = "timer closed",
        RatesSet = "labour rates set",
        SkillsSet = "skills set",
        RetestPassed = "retest passed",
        RetestFailed = "retest failed",
        Released = "released",
        HourMeterRead = "hour meter read",
        UsedWhileOutOfService = "used while out of service",
        MachineAdded = "machine added",
        MachineChanged = "machine changed",
        MachineRetired = "machine retired",
        YardAdded = "yard added",
        OnePersonYard = "one-person yard",
        ShiftsSet = "shifts set",
        HolidaySet = "holiday set",
        HolidayRemoved = "holiday removed",
        AbsenceEntered = "absence entered",
        AbsenceRemoved = "absence removed",
        YardHeight = "yard's height",
        PersonAdded = "person added",
        PersonInvited = "person invited",
        PersonChanged = "person changed",
        PersonDisabledOrEnabled = "person disabled or enabled",
        PasswordSet = "password set",
        SignInsEnded = "sign-ins ended",
        SecondStepSet = "second step set",
        SecondStepRemoved = "second step removed",
        SecondStepAskedFor = "second step asked of supervisors and owners",
        RecoveryCodesMade = "recovery codes made",
        PasskeyAdded = "passkey added",
        PasskeyRemoved = "passkey removed",
        DeviceTrusted = "device trusted",
        DeviceForgotten = "device forgotten",
        PinSet = "PIN set",
        PinEnded = "PIN ended",
        PartAdded = "part added",
        PartExpected = "part expected",
        PartReserved = "part reserved",
        PartsLacking = "parts lacking",
        PartsCame = "parts came",
        PartFitted = "part fitted",
        PartTakenOff = "part taken off",
        PartOrdered = "part ordered",
        PartOrderDropped = "part order called off",
        PartBought = "how a part is bought",
        PartChanged = "part changed",
        PartPlaced = "bin and level set",
        StockMoved = "stock moved",
        StockCounted = "stock counted",
        StorePolicySet = "rules of ordering set",
        ChecklistUploaded = "checklist uploaded",
        ChecklistSaved = "checklist saved",
        ChecklistRetired = "checklist retired",
        DraftBegun = "checklist draft begun",
        DraftDiscarded = "checklist draft discarded",
        EverythingTakenOut = "everything taken out",
        RetentionSet = "retention set",
        RecordsRemoved = "records removed",
        HeadReadersChosen = "readers of heads chosen",
        AlertAcknowledged = "alert acknowledged",
        AlertPassedOn = "next in line told",
        AlertSentAgain = "alert sent again",
        AlertsChosen = "own alerts chosen",
        AlertsRequired = "alerts required",
        ChainSet = "next in line set",
        DigestSet = "daily digest set",
        WebhookAdded = "webhook added",
        WebhookRotated = "webhook secret changed",
        WebhookSwitched = "webhook switched on or off",
        WebhookRemoved = "webhook removed",
        CalendarLinkMade = "calendar link made",
        CalendarLinkEnded = "calendar link ended",
    }
}

words! {
    /// Of what kind the subject of an entry, or its chain, is: "machine U7".
    TrailSubject {
        Check = "check",
        Checklist = "checklist",
        Defect = "defect",
        Device = "device",
        Hold = "hold",
        Machine = "machine",
        Part = "part",
        Person = "person",
        Records = "records",
        Webhook = "webhook",
        WorkOrder = "work order",
        Yard = "yard",
    }
}

words! {
    /// What stands before and after, where no vocabulary of its own says it.
    TrailState {
        Open = "open",
        Lifted = "lifted",
        Running = "running",
        Ended = "ended",
        InUse = "in use",
        Retired = "retired",
        Draft = "draft",
        Invited = "invited",
        Active = "active",
        Disabled = "disabled",
        OneTimeLink = "one-time link",
        Trusted = "trusted",
        Forgotten = "forgotten",
        Set = "set",
        Ungiven = "none",
        OnePerson = "one person",
        MorePeople = "more people",
        NotKnown = "not known",
        NoDate = "no date",
        SupervisorsTold = "supervisors told",
        Seen = "seen",
    }
}

/// What was done. An act of an older version that is no longer known is shown as it is kept.
pub fn act_said(kept: &str) -> Text {
    kept.parse::<TrailAct>().map_or_else(|_| Text::typed(kept), |act| Text::of(&act))
}

/// "machine U7".
pub fn subject_said(kept: &str) -> Text {
    let known = TrailSubject::ALL.iter().find_map(|kind| {
        let name = kept.strip_prefix(kind.as_str())?.strip_prefix(' ')?;
        Some((kind, name))
    });
    match known {
        Some((kind, name)) => said!("trail-subject", kind = kind, name = name),
        None => Text::typed(kept),
    }
}

/// The acts whose words have this in them, in whatever language: what somebody looks for in the trail.
pub fn acts_with(part: &str) -> Vec<TrailAct> {
    let part = part.to_lowercase();
    let says = |act: &TrailAct| Text::of(act).anywhere(|words| words.to_lowercase().contains(&part));
    TrailAct::ALL.iter().copied().filter(says).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::Lang;

    #[test]
    fn an_entry_reads_in_both_languages() {
        let order = subject_said("work order 12");
        assert_eq!(
            (order.in_lang(Lang::En), order.in_lang(Lang::Es)),
            ("work order 12", "orden de trabajo 12")
        );
        let list = subject_said("checklist utility-vehicle-daily");
        assert_eq!(list.in_lang(Lang::Es), "lista de revisión utility-vehicle-daily");
        assert_eq!(act_said("hold placed").in_lang(Lang::Es), "retención puesta");
        // Of a version to come, or gone.
        assert_eq!(act_said("moon landed").in_lang(Lang::Es), "moon landed");
        assert_eq!(subject_said("moon 1").in_lang(Lang::Es), "moon 1");
    }

    #[test]
    fn an_act_is_found_by_its_word_in_either_language() {
        assert!(acts_with("Retención").contains(&TrailAct::HoldPlaced));
        assert!(acts_with("hold").contains(&TrailAct::HoldPlaced));
        assert!(!acts_with("hold").contains(&TrailAct::PartAdded));
    }
}
