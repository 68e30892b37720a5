## What checks and reports are answered, beside what the phone says too (judge.ftl, judge-answers.ftl).

judge-brought = Brought from { $now } to the { $then } it failed in: { $why }
answers-did-not-fail = { $title } did not fail, so it is not asked for here. Leave it out.
answers-air-at = air at { $air }
level-below = below
level-between = between
level-above = above

## Defects under watch

watched-a-defect = a defect
watched-twice = “{ $what }” is answered twice. Keep one answer.
watched-say-what-is-worse = Say in a few words what is worse about “{ $what }”.
watched-open = “{ $what }” is being watched. Look at it and say: same, worse or gone.

## Reports, after MIL-STD-882E

risk-table = { $category } × { $probability } = { $level } (MIL-STD-882E Table III)
risk-certain = Certain effect on { $what }: always out of service. { $table }.
risk-in-doubt = In doubt it affects { $what }: out of service. { $table }.
risk-by-checklist = { $table }; this checklist grounds from { $from }.
risk-without-checklist = { $table }; without a checklist, a machine is grounded from { $from }.
risk-told = Judged a { $level } risk; this checklist takes a machine out of service from “{ $from }” on.
risk-told-without-checklist = Judged a { $level } risk; without a checklist, a machine is taken out of service from “{ $from }” on.
risk-fire-safety = fire safety
risk-not-known = brakes, steering, restraint or fuel
risk-rule-certain = certain effect on what can kill
risk-rule-doubt = doubt about what can kill
risk-rule-level = risk level of the report

## Checks that look careless

careless-how-quick = Seconds per answer, against the median of this machine's earlier checks with the same checklist. Shown when less than half the median and further below it than { $far } median deviations. Needs { $fewest } timed checks.
careless-how-same = The same figure to the last digit, check after check. Shown when chance explains it less than once in { $once }, by how often this figure stayed the same before. Needs { $fewest } earlier pairs of checks; a pressure, which moves with the weather, is shown after { $most } checks without them.
careless-how-hours = The hour meter between two checks: it went back, it ran longer than the clock, or it stood still for { $most } checks on different days although it moves on most days. Needs { $fewest } earlier pairs of checks.
careless-quick = { $pace } s an answer for { $items } answers; this machine's usual is { $usual } s (median of { $count } checks).
careless-thin-quick = Too little history to say how long a check takes: { $count ->
    [one] 1 timed check
   *[other] { $count } timed checks
 } before, { $fewest } are needed.
careless-changed = before that it changed in { $changed } of { $pairs ->
    [one] 1 check
   *[other] { $pairs } checks
 }
careless-weather = a pressure moves with the weather
careless-same = { $first } at { $running } checks running; { $why }.
careless-same-and-more = { $first } at { $running } checks running; { $why } (and { $count ->
    [one] one other place
   *[other] { $count } other places
 } the same way).
careless-thin-same = Too little history to say whether equal figures are odd: { $pairs ->
    [one] 1 pair
   *[other] { $pairs } pairs
 } before them, { $fewest } are needed.
careless-hours-back = The hour meter went back from { $before } h to { $now } h, confirmed at this check. Is the meter new?
careless-hours-ran = The hour meter ran { $ran } h in { $passed } h by the clock (from { $before } h to { $now } h).
careless-hours-still = The hour meter shows { $hours } h at checks on { $running } days running; before that it moved on { $moved } of { $pairs } days.
careless-thin-hours = Too little history to say whether an hour meter that stands still is odd: { $pairs ->
    [one] 1 pair of days
   *[other] { $pairs } pairs of days
 } before, { $fewest } are needed.
