### What a work order's page gathers beside the order.

order-earlier-of = Earlier repairs: { $what }
order-fixed-before = What fixed it before, on machines of this class
order-times = { $times ->
    [one] once
   *[other] { $times } times
 }:
order-cause-then-remedy = { $cause } → { $remedy }
order-parts-before = Parts it took
order-times-used = { $times ->
    [one] in one repair
   *[other] in { $times } repairs
 }, up to { $quantity }
order-reserve-of = Reserve { $quantity } of { $part }
order-on-this-machine = On this machine
order-on-others = On other machines of this class
order-notes = Notes
order-no-notes = Nobody left a note yet.
order-leave-a-note = A note for whoever works on it next
order-leave-note = Leave the note
order-photos = Photos of the work
order-photo-of-work = Photo { $number } of the work
order-add-photo = Add a photo
order-keep-photo = Add this photo
order-choose-photo = Choose a photo.
order-photo-not-kept = The photo could not be kept. Send a JPEG or PNG, or try again later.
order-split = Two jobs in one?
order-split-what = A defect can go to a work order of its own, for another mechanic. The machine stays as it is.
order-split-which = Defect
order-split-choose = Choose a defect
order-split-off = Split it off
order-choose-defect = Choose a defect.
order-others = Other work orders of this machine
order-other = Work order { $number }, { $state }
order-merge-which = Work order to take in
order-merge-what = Its defects come here, and it ends. Time, parts and invoices stay on it.
order-merge = Merge
order-choose-order = Choose a work order.
order-when-back = When it is back
order-away-with = It is away, with { $vendor }.
order-outside = { $repairs ->
    [0] Send for repair outside
   *[other] Repair outside
 }
