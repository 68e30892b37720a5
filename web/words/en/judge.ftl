## What is judged, and why: said by the server and, word for word, by the phone (web/static/judge.js).

load-unladen = unladen
load-laden = laden
warmth-cold = cold
warmth-warm = warm
judge-cold-or-warm = cold or warm
outcome-ok = ok
outcome-defect = defect
outcome-not-applicable = not applicable
outcome-corrected = corrected

judge-not-answered = not answered
judge-corrected-by = corrected ({ $amount })
judge-value-and-limit = { $value }, { $limit }
judge-answered-defect = { $value }, answered defect
judge-not-measured = could not be measured
judge-below-marks = below its marks
judge-above-marks = above its marks
judge-not-read = could not be read
judge-does-not-work = does not work
judge-failed = failed
judge-at-least = at least { $figure }
judge-at-most = at most { $figure }

judge-at-temperature = { $brought } at { $celsius } °C, { $limit }
judge-below-figure = { $value }, below { $figure }
judge-above-figure = { $value }, above { $figure }
judge-below-figure-at = { $brought } at { $celsius } °C, below { $figure }
judge-above-figure-at = { $brought } at { $celsius } °C, above { $figure }

judge-less-than = { $apart } less than { $position }, at most { $most }
judge-more-than = { $apart } more than { $position }, at most { $most }
judge-window-hours = { $hours } h
judge-window-days = { $days ->
    [one] 1 day
   *[other] { $days } days
 }
judge-corrected-amount = corrected by { $amount } within { $window }
judge-corrected-times = corrected { $count ->
    [one] 1 time
   *[other] { $count } times
 } within { $window }
judge-not-right-times = not right { $count ->
    [one] 1 time
   *[other] { $count } times
 } within { $window }
judge-back = { $days ->
    [0] back on the day of its release
    [one] back 1 day after its release
   *[other] back { $days } days after its release
 }

judge-may-be-below = may be below { $figure } within { $hours } h
judge-may-be-above = may be above { $figure } within { $hours } h
judge-from-today = From { $value } today, { $hours } h on: { $expected } expected, { $worst } at worst (95 %).
judge-trend-ahead = { $points } earlier readings over { $over } h: { $figure } expected at { $expected } h, between { $earliest } h and { $latest } h (95 %).
judge-trend-away = { $points } earlier readings over { $over } h: the trend runs away from { $figure }.

judge-weather-cold-and-gone = { $limit } at { $celsius } °C reads { $reads } at { $air }: the cold explains that much, { $gone } more are gone.
judge-weather-gone = { $limit } at { $celsius } °C reads { $reads } at { $air }: { $gone } are gone, more than the gauge shows.
judge-weather-cold = { $limit } at { $celsius } °C reads { $reads } at { $air }: the cold explains it, but the tyre is low all the same.

judge-rule = (rule: { $rule }).
judge-rule-safety-item-failed = safety item failed
judge-rule-item-failed = item failed
judge-rule-safety-item-unanswered = safety item not answered
judge-instruction-stop = Do not use the machine. Park it, take the key out, keep others off it and tell the supervisor.
judge-instruction-watch = The machine may be used. Look at this again at every check, and stop if it gets worse.
