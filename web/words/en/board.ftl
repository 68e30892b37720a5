### The yard board.

board-title = Yard board
board-export = Export as CSV
board-yard = Yard
board-all-yards = All yards
board-class = Class
board-all-classes = All classes
board-show = Show
board-more = There are more than fit on one page.
board-choose = Choose a yard, or export as CSV.
board-none-here = No machine is out of service here.
board-none = No machine is out of service.
board-grounded = { $count ->
    [one] { $count } machine out of service
   *[other] { $count } machines out of service
 }
board-so-far = { $cost } so far
board-machine = Machine
board-why = Why
board-since = Since
board-with = With
board-waiting-for = Waiting for
board-cost = Cost so far
board-undelivered = { $count ->
    [one] { $count } alert not delivered
   *[other] { $count } alerts not delivered
 }
board-order = Work order { $number }
board-open-for = Open a work order for { $unit }
board-open-one = Open one
board-monitored = Monitored
board-nothing-watched = Nothing is being watched.
board-watched = { $count ->
    [one] { $count } defect being watched
   *[other] { $count } defects being watched
 }
board-what = What
board-found = Found
board-good-until = Good until
board-left = Left
board-counts = Counts
board-no-machines = There are no machines yet.
board-no-choice = No machine of this choice. Choose another yard or class.
board-available = Available against needed today
board-needed = Needed
board-fit = Fit
board-out = Out
board-short = Short
board-more-holds = { $why }{ $more ->
    [0] { "" }
    [one] {" "}(and one more hold)
   *[other] {" "}(and { $more } more holds)
 }
board-nobody-yet = nobody yet
board-waits-look = a look by whoever placed the hold, or a report
board-waits-order = a work order
board-waits-late = { $what }, was expected { $day }
board-waits-dated = { $what }, { $day }
board-waits-mechanic = a mechanic
board-waits-parts-and-mechanic = parts, then a mechanic
board-waits-release = retest and release
board-waits-start = work to start
board-waits-repair = the repair under way
board-hours = { $hours } h
board-none-left = none
board-engine-hours = { $hours } engine hours
board-told-nobody = nobody had to be told
board-told = { $count ->
    [one] 1 alert delivered
   *[other] { $count } alerts delivered
 }
board-not-acknowledged = not acknowledged for { $since }
board-under-way = { $count ->
    [one] 1 alert still on its way
   *[other] { $count } alerts still on their way
 }
board-moved = Not checked today, though moved
board-meter = Hour meter
board-moved-said = { $gained } h more than before, { $hours } h read { $at }
board-last-check = Last check
board-never = never
board-ahead = Likely available against needed, today and the next 7 days
board-ahead-how = Today is what is fit for use now. A machine that is likely back counts from the day after; one whose watch ends does not count from that day on.
board-of-needed = { $fit } of { $needed }
board-wall-view = For a wall screen
board-usual-view = Usual view
