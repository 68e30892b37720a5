### The outbox.

outbox-title = Outbox
outbox-about = Every alert, whether it has been delivered, and what the mail server last said.
outbox-failing = { $count ->
    [one] { $count } is not delivered.
   *[other] { $count } are not delivered.
 }
outbox-empty = No alert has been sent yet. When a machine is held or released, who is told shows here.
outbox-count = { $count ->
    [one] { $count } alert, newest first
   *[other] { $count } alerts, newest first
 }
outbox-only-failing = Only what was not delivered
outbox-all = All alerts
outbox-none-failing = Everything has been delivered, or is on its way.
outbox-older = Older ones
outbox-alert = Alert
outbox-to = To
outbox-state = State
outbox-tries = Tries
outbox-last-answer = Last answer
outbox-when = When
outbox-back = Back to the outbox
outbox-none-yet = none yet
outbox-happened = Happened
outbox-machine = Machine
outbox-send-again = Send it again
outbox-not-composed = This mail cannot be shown: it could not be composed.
outbox-tried = tried, not delivered yet
outbox-to-be-sent = to be sent
outbox-being-sent = being sent
outbox-delivered = delivered
outbox-refused = not delivered, refused for good
outbox-given-up = not delivered, given up
outbox-delivered-at = Delivered
outbox-next-try = Next try
outbox-one = A mail
