### Why something was not done, and how to mend it.

pin-four-to-eight = Choose 4 to 8 digits, nothing else.
pin-not-all-the-same = Choose digits that are not all the same.
pin-no-run = Choose digits that are not a run such as 1234 or 4321.

## Who may, and what there is

refusal-takes-a-role = To { $act } takes one of these roles: { $roles }.
refusal-password-again = You gave your password more than a quarter of an hour ago. To { $act } takes it again.
refusal-password-first = You came in by PIN. To { $act } takes your password: sign in with it first.
refusal-no-such-class = No machine in your yards has this class.
refusal-no-such-page = There is no such page. The last one that is read is { $last }.
refusal-no-such-place = The list does not have the place it was to go on from. Begin anew.
refusal-key-of-another = Something else was sent under this Idempotency-Key before. Take a new key for what is new.
refusal-key-under-way = The same is under way under this Idempotency-Key, or it was broken off. Look whether it was done before you send it under another key.
refusal-key-shown-once = This was done before, under the same Idempotency-Key. Its answer had a secret in it, which is shown once.
refusal-not-found = There is no such { $thing }, or it is not in one of your yards.
refusal-too-soon = Too many wrong tries. Wait { $seconds ->
    [one] one second
   *[other] { $seconds } seconds
}, then try again.
refusal-give = Give { $what }.
refusal-shorten = Shorten { $what } to { $most } characters.
refusal-control-characters = Take the control characters out of { $what }.

## What somebody is asked to give

what-unit-number = a unit number
what-it-waits-for = what it waits for
what-reason-for-cancelling = a reason for cancelling

## Machines and parts

machine-unit-number-empty = A unit number needs at least one letter or digit.
store-quantity = Give a quantity above zero with at most three decimals, such as 2 or 0.35.
store-worth-nothing = A receipt cannot be worth less than nothing.
store-only-to-issue = Only { $most } can be issued to this work order; the rest is reserved for others or not there.
store-only-was-issued = Only { $most } was issued to this work order; no more can come back.

## Work orders

order-somebody-has-it = { $mechanic } has this work order.
order-claim-first = Claim the work order first.
order-claim-other-first = Claim work order { $number } first: it can only be taken in by whoever has it.
order-work-with-the-skilled = { $lacking } You may help while somebody skilled has the order.
order-has-ended = The work order is { $state }.
order-not-handed-back = The work order is { $state }; it cannot be handed back now.
order-not-started = The work order is { $state }; it cannot be started now.
order-not-to-waiting = The work order is { $state }; it cannot be set to waiting now.
order-not-finished = The work order is { $state }; it cannot be finished now.
order-still-waits = The work order waits for { $what }. Start work again before you finish it.
order-work-not-done = The work is not done yet: the mechanic marks it so first.

## Return to service

release-nothing-done = Not released: nothing is recorded as done about “{ $what }”.
release-retest-failed = Not released: the retest of “{ $what }” failed.
release-not-retested = Not released: “{ $what }” has not been retested since it was worked on.
release-by-another = “{ $what }” is work on { $system }: somebody other than the person who did it must release the machine.

## Defects

defect-say-what-was-done = Say what was done about the defect before it is closed.
defect-nothing-to-lower = The defect is only monitored; there is nothing to lower.
defect-decided-finally = A final rule decided this. It stays out of service until it is repaired.
defect-go-on-to-retest = The defect is { $state }: go on to its retest and release.
defect-closed-for-good = The defect is closed. Report what you see as a new one; it will point to this one.

## What somebody is asked to give, in the workshop

what-bin = the bin
what-cause = the cause
what-class = a class
what-class-such-as = a class, such as utility vehicle
what-description = the description
what-mail-address = a mail address
what-name = a name
what-note = the note
what-part-number = a part number
what-part-unit = a unit, such as each or L
what-reason = a reason
what-reason-for-hold = a reason for the hold
what-reason-for-lifting = a reason for lifting the hold
what-remedy = the remedy
what-serial = the serial number
what-title = a title
what-tried = a description of what was tried
what-is-wrong = a description of what is wrong
what-yard-name = a name for the yard

## People, PINs and passwords

person-a-role = Choose at least one role.
person-no-such-yard = Choose yards that there are.
person-a-yard = Choose at least one yard.
person-address-taken = Somebody with this mail address is here already.
person-link-used-up = This link has been used or has run out. Ask for a new one.
person-mail-address = Give a mail address such as name@example.org.
person-not-your-own-role = You cannot take the owner's role from yourself. Another owner can.
person-not-yourself = You cannot disable yourself.
person-rate = A rate cannot be below nothing.
password-give = Give your password.
password-length = Choose a password of 10 to 256 characters. Several plain words are fine.
password-not-yours = This is not your password. Try again.
pin-at-this-moment = Another PIN was tried at this moment. Wait a little, then try again.
pin-choose-who = Choose who you are.
pin-give = Give your PIN.
pin-gone = Five wrong PINs: the PIN is gone on this device. Sign in with your password; you can set a new PIN then.
pin-none-here = No PIN works on this device. Sign in with your password, then set a PIN here.
pin-not-of-this-person = There is no PIN for this person on this device. Sign in with the password.
pin-not-the-same = The two PINs are not the same. Type both again.
pin-too-soon = Too soon after a wrong PIN. Wait { $seconds } seconds, then try again.
pin-wrong = { $left ->
    [one] That is not the PIN. Wait { $wait } seconds before you try again. After one more wrong one it is gone here.
   *[other] That is not the PIN. Wait { $wait } seconds before you try again. After { $left } more wrong ones it is gone here.
}
sign-in-again = Sign in again.
sign-in-do-not-fit = The address and the password do not fit together.

## Yards, machines and holds

yard-height = Give the height in metres, from { $least } to { $most }.
yard-name-taken = There is a yard of this name already.
yard-need = Give a number from 0 to 100,000.
yard-zone = Give a time zone by its IANA name, such as Europe/Oslo.
machine-hours-below-nothing = An hour meter does not show less than nothing.
machine-number-taken = There is a machine with this unit number already.
machine-retired = The machine is retired.
machine-retired-already = The machine is retired already.
machine-retired-take-another = The machine is retired. Take another one.
hold-id-taken = Another hold was already placed under this id.
hold-instruction = Do not use the machine until the hold is lifted.
hold-lifted-already = The hold is lifted already.
hold-of-a-defect = This hold came from a defect. It ends when the defect is repaired, retested and released.

## Work, labour and parts

order-no-open-defect = The machine has no open defect to work on.
order-defects-went-on = Its defects went on to work order { $number }.
order-takes-no-parts = The work order is { $state }; it takes no parts.
order-claim-for-parts = Claim the work order before you take parts for it.
labour-runs-elsewhere = Your time is running on work order { $number }. Stop it there first.
labour-ends-before-it-starts = The end must come after the start.
labour-not-yet = Labour cannot be entered before it is done. Give times up to now.
labour-too-long = That is more than { $most } hours. Enter each shift on its own.
labour-overlaps = This overlaps time you already have on work order { $number }. Entries of one person cannot overlap.
part-number-taken = There is a part { $number } already.
part-form-sent-before = This form was sent before with other figures. Look at the page again.
work-say-what-was-done = Say what was done about “{ $what }”.
work-give-the-cause = Give the cause of “{ $what }”, or mark it no fault found.
work-give-the-remedy = Give the remedy of “{ $what }”, or mark it no fault found.
work-not-of-this-order = This defect does not belong to the work order.

## Checklists

checklist-a-class = Name at least one class of machines.
checklist-fault-at = Line { $line }, column { $column }: { $fault }
checklist-none-for-class = There is no checklist for a { $class } yet. A supervisor can upload one.
checklist-retired = This checklist is retired, so no new check is made with it. Begin the check again from the machine's page.
checklist-title-for-class = “{ $title }” for { $class }
checklist-title-taken = There is a checklist "{ $name }" already. Choose another title.
checklist-title-too-long = Shorten the title to a few plain words.
checklist-too-long = The checklist is too long. Take something out first.
checklist-version-not-in-use = This version is not in use. Retire the version that is.
draft-fault-of = { $part }: { $fault }
draft-mend-first = A draft can be tried once nothing is wrong with it. Mend { $part } first.
draft-newer-version = Version { $version } was made after you began. Compare your draft with it, then save if yours is to take its place.
draft-somebody-elses = This draft is somebody else's. Begin one of your own from the version in use.

## Checks, reports, severities and retests

check-id-taken = Another check was already recorded under this id. It was not changed.
check-no-checklist-for = “{ $title }” is no checklist for a { $class }.
report-id-taken = Another defect was already reported under this id.
retest-after-work-done = The retest comes after the work is marked done.
retest-is-it-gone = Say whether the fault is gone.
severity-defect-closed = The defect is closed. Report what you see as a new one.
severity-good-until = Give a good-until after now and within { $most } days. A watch without an end is no watch.
severity-open-an-order = Open a work order for the defect first.
severity-out-of-service-already = The defect is out of service already.
retest-air-now = It failed in air of { $then }. Give the temperature of the air now.
retest-every-item-ok = Every failed item must be answered ok.
retest-failed-because = Retest failed: { $why }

## What is put on record of a defect

checklist-and-version = { $checklist } version { $version }
raise-with-version = { $why } Checklist { $rules }.
defect-use-and-watch = You may use the machine. Watch the defect, and stop if it gets worse.
report-stop = Do not use the machine. Park it out of the way, fit the tag, take the key.
severity-lowered-by = Lowered by { $who }: { $reason } (rule: lowered by a supervisor).
severity-lowered-note = Severity of “{ $what }” lowered: { $reason }
severity-raised-by = Raised by { $who }: { $reason } (rule: raised by a person).
severity-raised-short = { $what } ({ $reason })
severity-raised-why = { $what }. { $why }
severity-stop = Do not use the machine. Fit the tag and tell the supervisor.
watch-date-passed = Its good-until date passed without a release. { $why }
watch-hours-passed = Its good-until engine hours ({ $end } h, now { $at } h) passed without a release. { $why }
watch-is-over = Do not use the machine. The time to watch this defect is over.
watch-passed-short = { $what } (good until passed)

## What a check says of a watched defect, and what follows

watched-found-again = This check found it again, so it is taken for being there.
watched-sighting-gone = Gone.
watched-keeps-out-of-service = It keeps the machine out of service.
watched-not-of-this-machine = This defect is not one of the machine's. Ask for its checklist again.
watched-out-of-service-now = Out of service from now on.
watched-released-and-worse = It was released while you walked round: reported anew, out of service.
watched-released-meanwhile = It was released while you walked round.
watched-sighting-same = The same.
watched-seen-gone = Gone: { $note }
watched-seen-same = The same: { $note }
watched-seen-worse = Worse: { $note }
watched-stop = Do not use the machine. Park it, take the key out, keep others off it and tell the supervisor.
watched-until-a-mechanic-looked = It stays open until a mechanic has looked.
watched-watched-on = It is watched on.
watched-worse-says = Worse, says { $who }: { $note } (rule: said to be worse).
