### Alerts: who hears what, acknowledging, the next in line, the digest.

alert-kind-machine-held = a machine is out of service
alert-kind-used-while-out-of-service = used while out of service
alert-kind-not-acknowledged = nobody has acknowledged
alert-kind-released = a machine is released
alert-kind-hold-lifted = a hold is lifted
alert-kind-defect-came-back = a defect came back
alert-kind-repair-outside-late = a repair outside is late
alert-kind-daily-digest = the daily digest
alert-kind-report-received = a report was received
alert-kind-timer-closed = a clock was ended
alert-kind-part-arrived = a part arrived
alert-kind-webhook-switched-off = a webhook was switched off
alert-kind-audit-trail-signed = the audit trail was signed
wanted-required = required
wanted-unless-switched-off = unless switched off
wanted-only-if-switched-on = only if switched on
alert-state-told = told
alert-state-not-acknowledged = not acknowledged
alert-state-not-delivered = not delivered

trail-act-alert-acknowledged = alert acknowledged
trail-act-next-in-line-told = next in line told
trail-act-alert-sent-again = alert sent again
trail-act-own-alerts-chosen = own alerts chosen
trail-act-alerts-required = alerts required
trail-act-next-in-line-set = next in line set
trail-act-daily-digest-set = daily digest set
trail-state-seen = seen

mail-subject-not-acknowledged = { $unit } is out of service and nobody has acknowledged it
mail-subject-received = { $unit }: your report was received: { $what }
mail-subject-digest = { $yard }, daily digest: { $count ->
    [0] no machine out of service
    [one] { $count } machine out of service
   *[other] { $count } machines out of service
 }
mail-subject-webhook = Nothing is sent to { $host } any more
mail-nobody-saw = Nobody has said that they have seen this.
mail-see-to-it = See that the machine stands still and is tagged. Then say that you have seen it.
mail-received = Your report about { $unit } was received.
mail-good-until = Good until
mail-you-hear = You hear again when more is decided, and when it is fixed.
mail-digest = { $yard }, { $when }
mail-digest-grounded = Out of service: { $count }
mail-digest-watched = Monitored: { $count }
mail-digest-likely = Likely back by
mail-digest-cost = Cost so far
mail-digest-unseen = Nobody has acknowledged it.
mail-digest-undelivered = { $count ->
    [one] { $count } alert could not be delivered. The outbox says why.
   *[other] { $count } alerts could not be delivered. The outbox says why.
 }
mail-webhook-off = Nothing has reached { $host } since { $when }. It was switched off.
mail-webhook-answer = Its last answer: { $answer }
mail-webhook-do = Put it right, then switch it on again.
mail-subject-head = Audit trail: signed head { $number }
mail-head = Signed head { $number } of the audit trail
mail-head-keep = Keep this mail. With it, anybody can check later that nothing before it was cut off or rewritten.
mail-acknowledge = I have seen this, and see to it

ack-by-claiming = by claiming the work order
ack-by-link = by the link in the mail
ack-on-page = on its page
ack-nobody-in-time = nobody had acknowledged it in time
ack-not-asked = This alert asks nobody to acknowledge it.
ack-already = It was acknowledged already.
ack-title = Have you seen it?
ack-for = This is for { $name }.
ack-why = Why
ack-stopped = Stopped by { $name }, { $when }.
ack-means = By this you say that you know of it, and see to it that the machine stays where it is.
ack-do = I have seen it
ack-done = Acknowledged by { $name }, { $when }.
ack-over = No hold is open on { $unit } any more.
ack-machine = See { $unit }
ack-state = Seen
ack-nobody-yet = by nobody yet
ack-by = by { $name }, { $when }

hearing-trail-on = { $kind }: on
hearing-trail-off = { $kind }: off
hearing-trail-rule = { $kind }, { $role }: { $wanted }
hearing-trail-step = { $who } after { $minutes } min
hearing-nobody-left = Then nobody would hear of every machine of { $yard } when “{ $kind }”. Somebody must: first see to it that somebody else does.
hearing-quiet-same = Let the quiet hours begin and end at different times, or leave both empty.
hearing-wait = Give whole minutes, { $least } to { $most }.
hearing-not-of-this-yard = Choose somebody of this yard.
hearing-give-clock = Give a time of day, such as 22:00.
hearing-both = Give both, or leave both empty.

my-alerts-title = Your alerts
my-alerts-link-about = What you get mail about, and when you want to be left alone.
my-alerts-back = Back to yourself
my-alerts-quiet = Quiet hours
my-alerts-quiet-about = What can wait is sent when they are over. That a machine is out of service never waits.
my-alerts-from = From
my-alerts-to = To
my-alerts-clock-hint = By the yard's clock, such as 22:00. Empty for none.
my-alerts-required = the owner requires it
my-alerts-kinds = You hear when
my-alerts-classes = Only of these classes
my-alerts-classes-about = None chosen: of all. What the owner requires, you hear of all.
my-alerts-no-yards = There is no yard to hear of yet.
my-alerts-save = Save

yard-alerts-title = Alerts of { $yard }
yard-alerts-link = Alerts of { $yard }
yard-alerts-back = Back to the yards
yard-alerts-who = Who hears what
yard-alerts-who-about = Required: everybody in this role hears it. Otherwise each person chooses. Somebody always hears of a machine that is out of service.
yard-alerts-kind = Alert
yard-alerts-of-role = { $kind }: { $role }
yard-alerts-which = Choose one of what is offered.
yard-alerts-person = Person
yard-alerts-save-rules = Save who hears what
yard-alerts-chain = When nobody acknowledges
yard-alerts-chain-about = Who is told next, and how many minutes after the one before. With nobody here, the owners are told after 30 minutes.
yard-alerts-step = Number { $step }
yard-alerts-nobody = nobody
yard-alerts-minutes = Minutes later
yard-alerts-save-chain = Save the order
yard-alerts-digest = Daily digest
yard-alerts-digest-about = What is out of service and what is being watched, in one mail a day.
yard-alerts-hour = Sent at
yard-alerts-hour-hint = By the yard's clock, such as 06:00. Empty for no digest.
yard-alerts-save-digest = Save the hour
