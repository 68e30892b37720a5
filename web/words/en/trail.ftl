### The audit trail.

trail-subject = { $kind } { $name }
trail-and-more = and { $more } more
trail-by-link = by one-time link
trail-defects-went-on = its defects went on to another
trail-for-pins = for PINs
trail-from-to = { $from } to { $to }
trail-its-order-cancelled = its work order was cancelled
trail-new-checklist = a new checklist
trail-nothing-changed = nothing changed
trail-order-cancelled = { $why } ({ $stays } defects stay open)
trail-part-added = { $what } added
trail-part-changed = { $what } changed
trail-part-removed = { $what } removed
trail-pin-taken-off = taken off by its person
trail-pin-wrong = wrong { $times } times
trail-pins-ended = PINs ended: { $names }
trail-repair-did-not-hold = the repair did not hold
trail-somebody-at-a-device = somebody at a shared device
trail-used-while-held = the meter ran while the machine was held
trail-version = version { $version }

## What was done

trail-act-check-submitted = check submitted
trail-act-defect-raised = defect raised
trail-act-defect-seen-again = defect seen again
trail-act-defect-worse = defect worse
trail-act-defect-said-to-be-the-same = defect said to be the same
trail-act-defect-said-to-be-worse = defect said to be worse
trail-act-defect-said-to-be-gone = defect said to be gone
trail-act-defect-came-back = defect came back
trail-act-defect-worked-on = defect worked on
trail-act-defect-back-to-work = defect back to work
trail-act-defect-moved = defect moved
trail-act-defect-closed = defect closed
trail-act-repair-did-not-hold = repair did not hold
trail-act-good-until-passed = good-until passed
trail-act-severity-raised = severity raised
trail-act-severity-lowered = severity lowered
trail-act-hold-placed = hold placed
trail-act-hold-lifted = hold lifted
trail-act-holds-lifted = holds lifted
trail-act-work-order-opened = work order opened
trail-act-work-order-claimed = work order claimed
trail-act-work-order-handed-back = work order handed back
trail-act-work-order-waits = work order waits
trail-act-work-order-cancelled = work order cancelled
trail-act-work-order-back-to-work = work order back to work
trail-act-work-order-ended = work order ended
trail-act-work-started = work started
trail-act-work-done = work done
trail-act-labour-started = labour started
trail-act-labour-stopped = labour stopped
trail-act-labour-entered = labour entered
trail-act-retest-passed = retest passed
trail-act-retest-failed = retest failed
trail-act-released = released
trail-act-hour-meter-read = hour meter read
trail-act-used-while-out-of-service = used while out of service
trail-act-machine-added = machine added
trail-act-machine-retired = machine retired
trail-act-yard-added = yard added
trail-act-one-person-yard = one-person yard
trail-act-yard-s-height = yard's height
trail-act-person-added = person added
trail-act-person-invited = person invited
trail-act-person-changed = person changed
trail-act-person-disabled-or-enabled = person disabled or enabled
trail-act-password-set = password set
trail-act-device-trusted = device trusted
trail-act-device-forgotten = device forgotten
trail-act-pin-set = PIN set
trail-act-pin-ended = PIN ended
trail-act-part-added = part added
trail-act-part-expected = part expected
trail-act-part-reserved = part reserved
trail-act-stock-moved = stock moved
trail-act-checklist-uploaded = checklist uploaded
trail-act-checklist-saved = checklist saved
trail-act-checklist-retired = checklist retired
trail-act-checklist-draft-begun = checklist draft begun
trail-act-checklist-draft-discarded = checklist draft discarded

## Of what kind its subject is

trail-subject-check = check
trail-subject-checklist = checklist
trail-subject-defect = defect
trail-subject-device = device
trail-subject-hold = hold
trail-subject-machine = machine
trail-subject-part = part
trail-subject-person = person
trail-subject-work-order = work order
trail-subject-yard = yard

## Before and after

trail-state-open = open
trail-state-lifted = lifted
trail-state-running = running
trail-state-ended = ended
trail-state-in-use = in use
trail-state-retired = retired
trail-state-draft = draft
trail-state-invited = invited
trail-state-active = active
trail-state-disabled = disabled
trail-state-one-time-link = one-time link
trail-state-trusted = trusted
trail-state-forgotten = forgotten
trail-state-set = set
trail-state-none = none
trail-state-one-person = one person
trail-state-more-people = more people
trail-state-not-known = not known
trail-state-no-date = no date
trail-state-supervisors-told = supervisors told

trail-by-release = { $holds } by release
trail-lowered = { $reason }; good until { $until }
trail-released-by-repairer = released by the repairer. { $note }
trail-arrived-late = recorded { $at }, arrived later
trail-earlier-check-arrived-late = a check that was recorded earlier arrived late
trail-counts-from = { $reason }. Counts from { $since }, when it was recorded.
trail-act-hold-counts-from-earlier = hold counts from earlier
