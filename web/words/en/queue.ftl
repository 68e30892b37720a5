### The queue of work orders.

queue-title = Queue
queue-where = { $yard } · work order { $number }, opened { $opened }
queue-open = Open
queue-open-aria = Open work order { $number }, { $unit }
queue-claim = Claim
queue-claim-aria = Claim work order { $number }, { $unit }
queue-yours = Yours
queue-next = Next
queue-empty = No work order waits for a mechanic. When a check fails, its work order comes here by itself.
queue-done = Retest and release
queue-waiting = Waiting
queue-others = With others
queue-what = { $what }{ $more ->
    [0] { "" }
    [one] , and one more
   *[other] , and { $more } more
 }
queue-no-defect = No defect
queue-done-by = Work done by { $mechanic }; retest and release are next
queue-with = { $state }, with { $mechanic }
queue-waits = Waiting for { $what }. With { $mechanic }.
queue-waits-unclaimed = Waiting for { $what }. Nobody has it yet; whoever wants to look closer may claim it.

## Pins, what is away, and pages

queue-forecasts = When machines are back
queue-away = Away for repair
queue-away-late = With { $vendor }, late by { $by }. Ask where it is.
queue-away-no-promise = With { $vendor } for { $since }; nobody said until when.
queue-away-until = With { $vendor }, promised { $day }.
queue-away-licensed = Licensed work ({ $licensed }): it comes back with the number of the licence.
queue-pin = Pin
queue-unpin = Unpin
queue-pin-aria = Pin work order { $number }, { $unit }: this one first
queue-unpin-aria = Unpin work order { $number }, { $unit }
queue-pages = Pages of the queue
queue-earlier = The places before
queue-later = The places after
notice-pinned = Pinned: it stands first now.
notice-unpinned = No longer pinned.
notice-noted = The note is on the work order.
notice-photo-kept = The photo is on the work order.
notice-split = The defect has a work order of its own now.
notice-merged = The two work orders are one now.
notice-sent-outside = Entered. The machine stays as it is until it is back and released.
notice-outside-told = Entered.
