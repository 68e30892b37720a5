### When a machine is foreseen to be back.

forecast-days = Give 1 to 400 days.
forecast-no-such-order = Give the number of an open work order in one of your yards.
forecast-waits-for-nothing = That work order waits for nothing that has a date.

forecast-choose-yard = Choose a yard.
forecast-by = Likely back by { $likely }, almost surely by { $surely }.
forecast-likely-only = Likely back by { $likely }; how long it may take at most cannot be said.
forecast-repaired-by = Likely repaired by { $likely }, almost surely by { $surely }.
forecast-likely-repaired-only = Likely repaired by { $likely }; how long it may take at most cannot be said.
forecast-waits-part = It waits for a part, expected { $day }.
forecast-waits-part-overdue = It waits for a part that was expected { $day }.
forecast-waits-outside = It is away for repair, promised { $day }.
forecast-waits-outside-overdue = It is away for repair and was promised { $day }.
forecast-waits-access = It waits for access, expected { $day }.
forecast-waits-access-overdue = It waits for access that was expected { $day }.
forecast-waits-information = It waits for information, expected { $day }.
forecast-waits-information-overdue = It waits for information that was expected { $day }.
forecast-waits-shift = Nobody who can do it works before { $when }.
forecast-waits-queue = { $ahead ->
    [0] No work order comes first
    [one] One work order comes first
   *[other] { $ahead } work orders come first
 }, and { $able ->
    [one] one mechanic can do it
   *[other] { $able } mechanics can do it
 }.
forecast-repair-itself = Most of it is the repair itself: some { $time } of work.
forecast-no-date-part = When it is back cannot be said: the part it waits for has no date.
forecast-no-date-outside = When it is back cannot be said: the firm that has it promised no day.
forecast-no-date-access = When it is back cannot be said: it waits for access without a date.
forecast-no-date-information = When it is back cannot be said: it waits for information without a date.
forecast-nobody-here = When it is back cannot be said: no mechanic works in its yard.
forecast-nobody-skilled = When it is back cannot be said: no mechanic of its yard is skilled in { $systems }.
forecast-no-shift = When it is back cannot be said: whoever can do it has no shifts.
forecast-beyond = When it is back cannot be said: not within { $days } days.

## The page

forecasts-title = When machines are back
forecasts-back = Queue
forecasts-now = Now
forecasts-none = Nothing is foreseen: no work order is open, or it was opened a moment ago.
forecasts-not-foreseen = { $count ->
    [one] One more work order is open of which nothing is said
   *[other] { $count } more work orders are open of which nothing is said
 }: it was opened a moment ago, or stands behind the first { $most } in the queue.
forecasts-order = work order { $number }
forecasts-what-if = What if?
forecasts-nothing-saved = See what would change. Nothing is saved.
forecasts-one-more = One more mechanic at
forecasts-show = Show the difference
forecasts-what-changes = What would change
forecasts-asked-mechanic = With one more mechanic at { $yard }:
forecasts-asked-earlier = { $days ->
    [one] If what work order { $number } waits for comes one day earlier:
   *[other] If what work order { $number } waits for comes { $days } days earlier:
 }
forecasts-what-order = Work order that waits
forecasts-days-earlier = What it waits for comes earlier by, days
forecasts-no-difference = It would change nothing.
forecasts-sooner = { $by } sooner
forecasts-later = { $by } later
forecasts-as-is = As it is: { $sentence }
forecasts-would-be = Then: { $sentence }
forecasts-how-good = How good it was so far
forecasts-likely-held = “Likely by” held (half of them should)
forecasts-surely-held = “Almost surely by” held (nine in ten should)
forecasts-mean-error = Mean distance from “likely by”
forecasts-hours = { $hours } h
forecasts-beside = Beside “as long as last time”
forecasts-beside-figures = { $ours } h off, against { $last } h by “as long as last time” ({ $counted } work orders)
forecasts-counted = Work orders counted
forecasts-too-few = { $counted ->
    [one] One work order with a forecast is done.
   *[other] { $counted } work orders with a forecast are done.
 } From { $needed } on it is shown here how often the forecasts held.
forecasts-definitions = What the figures mean
forecasts-def-likely = “Likely by”: half of the repairs are done by then. “Almost surely by”: nine of ten. Both are read off a thousand runs, at the place where the last two hundred repairs of this workshop truly ended: where work has always begun later than the runs know, the moments lie later.
forecasts-def-how = Each run plays the workshop through: repair times of the same item and class as they were so far, the shifts, holidays and absences, who has which skill, when parts and repairs outside are expected and how punctual such promises were, and the order of the queue.
forecasts-def-first = Each work order counts once, by the first forecast that was given of it, and when its work was done. Times are by the clock, nights included.
forecasts-def-naive = “As long as last time” says that it takes as long as the last repair of the same item on a machine of the same class, from opened to done.
