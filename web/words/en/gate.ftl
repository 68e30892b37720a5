### The machine at the gate.

gate-another-machine = Take another machine
gate-held = Held { $when } by { $by }.
gate-why-lifted = Why may it be lifted?
gate-whole-record = The record of { $unit }
gate-start-check = Start a check
gate-no-checklist = No checklist covers the class “{ $class }”: { $unit } cannot be checked before use. Do not take it; tell a supervisor.
gate-report = Report a defect
gate-print-tag = Print the tag
gate-ground = Ground it
gate-why-held = Why it is held
gate-ends-with-repair = Ends when the defect is repaired, retested and released.
gate-lift = Lift this hold
gate-lift-on = Lift this hold on { $unit }?
gate-lift-caution = Look at the machine first. Lift the hold only when what it was placed for is gone.
gate-placed-and-told = { $who } placed it and will be told.
gate-lift-button = Lift the hold on { $unit }
gate-only-they-lift = Only { $who } or a supervisor lifts it.
gate-open-defects = Open defects
gate-none = None.
gate-good-until = good until { $until }
gate-found = Found { $when }.
gate-came-back = Back soon after its release.
gate-said-gone = Said to be gone { $when }: a mechanic looks.
gate-order = Work order
gate-order-number = Work order { $number }
gate-order-state = { $order }: { $state }.
gate-open-order = Open a work order for these defects
gate-another-hold = Place another hold on { $unit }
gate-last-check = Last check
gate-checked = { $when }, { $by }: { $verdict }.
gate-see-answers = See the answers
gate-never-checked = Never checked. Start a check before you take it.
gate-say-hours = Say what the hour meter shows
gate-engine-hours = Engine hours
gate-hours-right = The hours are right as I typed them
gate-save-hours = Save the hours
gate-last-time = Last time { $hours } h.

## What the sign says.

gate-watch-these = Fit for use: watch these
gate-do-not-use = Do not use
gate-held-since = { $reason } Held since { $when }.
gate-more-reasons = { $count ->
    [one] And one more reason, below.
   *[other] And { $count } more reasons, below.
 }
gate-no-defect-checked = No open defect. Last checked { $when }.
gate-no-defect-unchecked = No open defect. Never checked yet.
gate-retired = Retired { $when }.

## How long a defect may be watched.

gate-until-either = { $day } or { $hours } h, whichever comes first
gate-until-hours = { $hours } h

## Where its work order stands.

gate-order-queued = in the queue, nobody has it yet
gate-order-waiting = with { $mechanic }, waiting for { $what }
gate-order-waiting-until = with { $mechanic }, waiting for { $what }, expected { $when }
gate-order-with = with { $mechanic }
gate-order-done = work done, retest and release are next
gate-order-closed = closed
gate-order-cancelled = cancelled: { $reason }
