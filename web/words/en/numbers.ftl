### The numbers of the fleet.

numbers-title = Numbers
numbers-28 = Last 4 weeks
numbers-91 = Last 13 weeks
numbers-365 = Last 12 months
numbers-1826 = Last 5 years
numbers-from = From
numbers-to = Up to
numbers-period = { $from } to { $to }
numbers-machines = { $count ->
    [one] 1 machine
   *[other] { $count } machines
 }
numbers-nothing = No machine was there in this time. Choose another one.
numbers-figure = Figure
numbers-this = In this time
numbers-before = In the time before
numbers-compared = The time before: { $earlier }
numbers-not-known = not known
numbers-no-shifts = not known: no yard has shifts
numbers-available = Available by the calendar
numbers-working = Available by working hours
numbers-downs = Out of service
numbers-downs-said = { $count ->
    [one] once
   *[other] { $count } times
 }, { $time } altogether
numbers-failures = Failures
numbers-mtbf = Between failures
numbers-restoration = Back in service
numbers-restoration-said = { $count ->
    [one] after { $mean }, once
   *[other] after { $mean } on average, { $count } times
 }
numbers-cost = Repairs
numbers-coverage = Checked on the days it ran
numbers-coverage-said = { $share }: { $checked } machine-days with a check, { $unchecked } without
numbers-acknowledged = Holds acknowledged
numbers-none-asked = none was to be acknowledged
numbers-never-acknowledged = { $asked ->
    [one] the one there was, by nobody
   *[other] none of { $asked }
 }
numbers-acknowledged-said = half of them within { $median }; { $acknowledged } of { $asked }
numbers-not-acknowledged = not yet
numbers-rows-acknowledged = Holds to be acknowledged
numbers-asked-at = Asked
numbers-seen-at = Acknowledged
numbers-seen-by = By
numbers-took = Took
numbers-passed-on = Passed on to
numbers-likely = “Likely by” held
numbers-surely = “Almost surely by” held
numbers-held = { $share } of { $count } orders
numbers-held-few = not known: { $count } of { $fewest } orders needed
numbers-careless-said = { $count ->
    [0] none of the last 4 weeks
    [one] 1 check of the last 4 weeks
   *[other] { $count } checks of the last 4 weeks
 }
numbers-careless = by machine, of the last weeks
numbers-steps = Available over the time
numbers-as-a-table = As a table
numbers-split = What downtime went on
numbers-none-down = No machine was out of service in this time.
numbers-systems = Defects by system
numbers-none-found = No defect was found in this time.
numbers-first = { $count ->
    [one] The first one makes 80 % or more of all.
   *[other] The first { $count } make 80 % or more of all.
 }
numbers-system = System
numbers-severity = Severity
numbers-defects = Defects
numbers-grounding = Out of service
numbers-up-to = Up to here
numbers-again = Back again
numbers-none-again = No item failed twice on the same machine in this time.
numbers-last-time = The last time
numbers-times = Times
numbers-costs = Dearest machines
numbers-none-cost = No repair that ended in this time cost anything.
numbers-orders = Work orders
numbers-order = Work order
numbers-cost-of = Cost
numbers-opened = Opened
numbers-ended = Ended
numbers-closed = Closed
numbers-open = open
numbers-check = Check
numbers-next-check = Next check
numbers-ran = Ran in between
numbers-days = Days without a check
numbers-back = Back to the numbers
numbers-no-rows = There is nothing behind this number.
numbers-cut = Choose a shorter time or a yard, or export as CSV.
numbers-rows-down = Times out of service
numbers-rows-defects = Defects found
numbers-rows-orders = Work orders that ended
numbers-rows-unchecked = Ran on a day without a check

numbers-def-available = Uptime ÷ (uptime + downtime) of all machines together (IEC 60050-192: availability, 192-01-23; down time, 192-02-21). Downtime runs from the moment a machine was found unfit to its return to service. A machine counts from the day it was added to the day it was retired.
numbers-def-mtbf = Time by the calendar in which machines were not out of service ÷ failures (after EN 15341:2007, T17), with chi-square bounds (NIST e-Handbook, 8.4.5.1). In engine hours it stands in each machine’s record.
numbers-def-restoration = From found unfit to returned to service, on average, of those that came back in this time (ISO/TR 12489:2013; EN 15341:2007, T21).
numbers-def-split = Each minute out of service counts once: until the check that found it reached Chock, without a work order, in the queue or claimed, waiting, in work, and done but not released. “Each time” is per time out of service.
numbers-def-cost = Labour, parts and outside repairs of the work orders that ended in this time.
numbers-def-coverage = Machine-days with a check ÷ (those + days on which a machine ran without one). A day without a check counts only where the hour meter proves it: between two checks the machine ran longer than the first check’s day still had. So the share is rather too good than too bad.
numbers-def-acknowledged = From the moment a hold reached Chock to the moment somebody said that they had seen it: half of those acknowledged took no longer (median). Those that nobody acknowledged have no time and are counted beside it.
numbers-def-systems = Defects found in this time, whatever became of them, most first (Pareto).
numbers-def-again = The same item of the same machine, at the same place, found defective more than once in this time.
numbers-odd-period = Give both days. The end must come after the beginning, at most ten years later.
numbers-quick = Usual times
