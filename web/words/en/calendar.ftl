### The calendar feed.

calendar-title = Your calendar
calendar-about = A link with which your calendar program shows until when monitored defects are good, and when machines are expected back, in your yards.
calendar-once = Copy this link now into your calendar program: it is not shown again. Whoever has it can read these dates.
calendar-since = You have a link since { $when }. It is not shown again.
calendar-make = Make a link
calendar-make-new = Make a new link
calendar-new-ends-old = A new link ends the old one. End it when you think that somebody else has it.
calendar-end = End the link
calendar-name = Machines of { $name }
calendar-good-until = { $unit }: good until now: { $what }
calendar-then-out = From now on { $unit } is out of service, unless it has been repaired.
calendar-back = { $unit }: almost surely back in service
calendar-promised = { $unit }: promised back by { $vendor }
trail-act-calendar-link-made = calendar link made
trail-act-calendar-link-ended = calendar link ended
thing-calendar = calendar
