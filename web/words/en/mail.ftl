### Mails: what an alert says.

mail-out-caps = { $unit } is OUT OF SERVICE. Do not use it.
mail-out = { $unit } is out of service. Do not use it.
mail-why = Why
mail-what-now = What to do now
mail-no-energy = A hold is a record. It isolates no energy and replaces no lockout/tagout.
mail-order = A work order is in the mechanic queue.
mail-yard = Yard
mail-since = Since
mail-stopped-by = Stopped by
mail-note = Return-to-service note
mail-repair-released = Repair released
mail-back = { $unit } is back in service. Do the pre-use check before you take it.
mail-still-out-caps = { $unit } is still OUT OF SERVICE: another hold is open. Do not use it.
mail-another-hold = Another hold is open.
mail-no-fault = No fault found.
mail-found = Found
mail-cause = Cause
mail-remedy = Remedy
mail-retested-by = Retest passed, done by
mail-repaired-by = Repaired by
mail-released-by = Released by
mail-by-repairer = { $name } (released by the repairer)
mail-released = Released
mail-lifted = A hold on { $unit } was lifted.
mail-none-open = No hold is open on it any more: it may be used after its pre-use check.
mail-the-hold = The hold
mail-placed-by = Placed by
mail-lifted-by = Lifted by
mail-lifted-because = Lifted because
mail-lifted-at = Lifted
mail-place-again = If you know why the machine must stay where it is, place a hold again.
mail-meter-caps = The engine-hour meter of { $unit } ran while the machine was OUT OF SERVICE.
mail-meter = The engine-hour meter of { $unit } ran while the machine was out of service.
mail-when-held = When the hold began
mail-now = Now
mail-hours = { $hours } h
mail-stands-still = See that the machine stands still and cannot be started. Then find out why the meter ran.
mail-read-by = Read by
mail-read = Read
mail-did-not-last = What was repaired on { $unit } did not last: it is back.
mail-watched = It is being watched; the machine may be used meanwhile.
mail-released-last = Released last time
mail-cause-then = Cause found then
mail-done-then = Done then
mail-defect-before = The defect before
mail-this-defect = This defect
mail-find-out = Find out why the repair did not last before it is done the same way again.
mail-arrived-later = Arrived later, from a phone without a signal
mail-found-by = Found by
mail-stands-now = How { $unit } stands now
mail-to = To { $name }.
mail-law = Local law, the maker's manual and licensed practice come first.

## Subjects: the unit number comes first.

mail-subject-out = { $unit } is out of service
mail-subject-out-because = { $unit } is out of service: { $what }
mail-subject-out-several = { $unit } is out of service: { $what } (and { $more } more)
mail-subject-back = { $unit } is back in service
mail-subject-released-still-out = { $unit } is still out of service: a repair was released, another hold is open
mail-subject-lifted = { $unit }: a hold was lifted by { $name }
mail-subject-lifted-still-out = { $unit } is still out of service: a hold was lifted by { $name }
mail-subject-meter = { $unit }: the meter ran while out of service
mail-subject-came-back = { $unit }: back after its repair: { $what }
mail-subject-several-back = { $unit }: { $count } defects are back after their repair

## Dates in full.

mail-date = { $weekday } { $day } { $month } { $year }, { $clock } ({ $zone })
mail-date-here = { $weekday } { $day } { $month } { $year }, { $clock }
mail-day-monday = Monday
mail-day-tuesday = Tuesday
mail-day-wednesday = Wednesday
mail-day-thursday = Thursday
mail-day-friday = Friday
mail-day-saturday = Saturday
mail-day-sunday = Sunday
mail-timer = Your time on work order { $number } was still running. It was ended for you.
mail-timer-because = { $because }
mail-timer-from = Started
mail-timer-to = Ended
mail-timer-put-right = If this is not how long you worked, put it right under “My time”.
mail-subject-timer = { $unit }: your time on work order { $number } was ended for you
