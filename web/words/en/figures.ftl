### What a machine's record says of it.

figures-title = Availability and failures
figures-nothing-yet = not known: nothing was observed yet
figures-available = Available by the calendar
figures-available-said = { $share } of the time since { $since }; out of service for { $down }
figures-working = Available by working hours
figures-working-said = { $share } of the yard’s working hours; out of service for { $down } of { $wanted }
figures-working-none = not known: the yard has no shifts
figures-hours = { $hours } h
figures-failure = Failure
figures-failure-asked = A failure?
figures-mtbf = Between failures
figures-mtbf-engine = { $mean } engine hours on average: { $failures ->
    [one] 1 failure
   *[other] { $failures } failures
 } in { $total } engine hours. With 90 % confidence between { $low } and { $high }
figures-mtbf-calendar = { $mean } hours by the calendar on average: { $failures ->
    [one] 1 failure
   *[other] { $failures } failures
 } in { $total } hours. With 90 % confidence between { $low } and { $high }
figures-mtbf-none-engine = no failure in { $total } engine hours. With 90 % confidence at least { $low } engine hours from one to the next
figures-mtbf-none-calendar = no failure in { $total } hours by the calendar. With 90 % confidence at least { $low } from one to the next
figures-course = Trend
figures-course-few = { $count ->
    [0] not known: no failure so far, and a trend needs { $fewest }
    [one] not known: 1 failure so far, and a trend needs { $fewest }
   *[other] not known: { $count } failures so far, and a trend needs { $fewest }
 }
figures-course-none = no change but what chance explains
figures-course-perhaps-more = perhaps failing more often than it did: one of two tests says so, the other does not
figures-course-perhaps-less = perhaps failing less often than it did: one of two tests says so, the other does not
figures-course-more = failing more often than it did, unlikely by chance
figures-course-more-times = failing more often than it did: { $times } × the rate of a year ago, unlikely by chance
figures-course-less = failing less often than it did, unlikely by chance
figures-course-less-times = failing less often than it did: { $times } × the rate of a year ago, unlikely by chance
figures-restoration = Back in service
figures-restoration-none = it has not come back from being out of service yet
figures-restoration-said = { $count ->
    [one] after { $mean }, once
   *[other] after { $mean } on average, { $count } times
 }
figures-split = What downtime went on
figures-phase = Went on
figures-time = Altogether
figures-mean = Each time
figures-share = Share
figures-downs = Times out of service
figures-downs-cut = The newest { $shown }
figures-from = From
figures-to = To
figures-length = For
figures-most = Mostly
figures-still = still out of service
figures-a-failure = yes
figures-no-failure = no
figures-definitions = How these are reckoned

figures-def-available = Uptime ÷ (uptime + downtime), over the last twelve months or since the machine was added (IEC 60050-192: availability, 192-01-23; down time, 192-02-21). Downtime runs from the moment the machine was found unfit to its return to service, whatever it waited for. Two holds at once count once.
figures-def-working = The same, but only hours in which the yard’s shifts run are counted (EN 15341:2007, T2).
figures-def-failure = The machine was put out of service by a defect that was really there (EN 13306:2017). A hold placed by hand and a fault that was not found are downtime, but no failure.
figures-def-mtbf = Operating time ÷ failures (EN 15341:2007, T17), in engine hours where the machine has an hour meter, else in hours by the calendar in which it was not out of service. The bounds are the chi-square bounds for a record that ends now (NIST e-Handbook, 8.4.5.1); without a failure there is one bound only. They hold while the rate does not change.
figures-def-course = Two tests against a steady rate, Laplace’s and the one of MIL-HDBK-189. A trend is claimed where both give chance less than 5 %. The rates are those of the power law (NIST e-Handbook, 8.4.5.2).
figures-def-restoration = From found unfit to returned to service, on average (ISO/TR 12489:2013: time to restoration; EN 15341:2007, T21). “Work” is the time its work order was in work, not the hours booked on it. Where there are two work orders at once, the time counts for the one that is further on.

## Cost.

figures-cost = What it costs
figures-cost-year = Repairs in the last 12 months
figures-cost-before = In the 12 months before
figures-an-hour = { $cost } an engine hour: { $whole } in { $hours } engine hours
figures-no-hours = { $whole }; no engine hours are known
figures-def-cost = Labour, parts and outside repairs of the work orders that ended in the time, ÷ the engine hours run in it.
figures-keep-title = Keep it or replace it?
figures-keep-what = A sum and no advice: type what you know, and follow it line by line.
figures-keep-type-price = Price of another machine
figures-keep-type-brings = What this one still brings
figures-keep-type-years = Years you would keep the other one
figures-keep-type-repairs = Repairs of the other one, a year
figures-keep-reckon = Do the sum
figures-keep-wrong = Give amounts such as 12500 or 12500.50, and whole years from 1 to 50.
figures-keep-line = Line
figures-keep-amount = Amount
figures-keep-price = Price of another machine
figures-keep-less = less what this one brings
figures-keep-paid = to pay
figures-keep-a-year = { $years ->
    [one] over one year, a year
   *[other] over { $years } years, a year
 }
figures-keep-its-repairs = and its repairs, a year
figures-keep-replace = Replace: a year
figures-keep-keep = Keep: this one’s repairs in the last 12 months
figures-keep-same = Both cost the same.
figures-keep-dearer = Keeping it costs { $apart } a year more, if next year’s repairs cost what the last year’s did.
figures-keep-cheaper = Keeping it costs { $apart } a year less, if next year’s repairs cost what the last year’s did.

## What is measured.

figures-wear-title = Readings
figures-wear-what = Since the part was replaced or put right. Dashed: the limit, unladen. Thin: the trend.
figures-wear-more = { $count ->
    [one] Show one more chart
   *[other] Show { $count } more charts
 }
figures-wear-says = { $title }: { $count } readings
figures-wear-crossing = Reaches { $limit } at about { $expected } engine hours on the meter; by the 95 % bounds between { $earliest } and { $latest }.
figures-wear-away = The trend runs away from the limit.
figures-wear-no-trend = No trend can be told from these readings.
figures-at-least = at least { $figure }
figures-at-most = at most { $figure }
figures-axis-hours = engine hours on the meter
figures-axis-days = days since the first reading
figures-cost-thin = { $days ->
    [one] Only 1 day of the last 12 months is on record here: a year costs more than that.
   *[other] Only { $days } days of the last 12 months are on record here: a year costs more than that.
 }
