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
queue-done-by = work done by { $mechanic }; retest and release are next
queue-with = { $state }, with { $mechanic }
queue-waits = Waiting for { $what }. With { $mechanic }.
