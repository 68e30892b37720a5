### What places a work order in the queue.

## Why a work order stands where it does in the queue: joined by semicolons

place-out-of-service = the machine is out of service
place-usable = the machine can be used meanwhile
place-yard-lacks = the yard is short of { $short } today ({ $class })
place-good-until-passed = its good-until has passed
place-good-until-today = good until today
place-good-for = { $days ->
    [one] good for one more day
   *[other] good for { $days } more days
}
place-opened-within-the-hour = opened within the hour
place-open-for-hours = { $hours ->
    [one] open for an hour
   *[other] open for { $hours } hours
}
place-open-for-days = { $days ->
    [one] open for a day
   *[other] open for { $days } days
}
place-pinned = pinned by { $name }
place-work-left = { $hours ->
    [0] { $minutes } min of work expected
   *[other] { $hours } h { $minutes } min of work expected
 }
place-asks-for-skill = This work asks for somebody skilled in: { $systems }.

## In the audit trail

trail-act-work-order-pinned = work order pinned
trail-act-work-order-unpinned = work order unpinned
trail-act-work-order-split = work order split
trail-act-work-orders-merged = work orders merged
trail-act-note-left = note left
trail-act-sent-for-repair-outside = sent for repair outside
trail-act-repair-outside-promised = repair outside promised
trail-act-repair-outside-asked-after = repair outside asked after
trail-act-back-from-repair-outside = back from repair outside
trail-act-repair-outside-invoiced = repair outside invoiced
trail-act-repair-outside-called-off = repair outside called off
trail-act-repair-outside-late = repair outside late

act-pin-work-order = pin a work order
