### The pre-use check: the walk round the machine.

check-page-what-is-wrong = What is wrong?
check-page-photo = Photo
check-page-open-already = Open already:
check-page-same-or-worse = { $what }. Look at it first: the same, or worse?
check-page-look-first = { $what }. Look at it first.
check-page-figure-of = { $title }, figure
check-page-unit = Unit
check-page-limit = Limit
check-page-last = Last
check-page-note-or-photo = Note or photo
check-page-what-did-you-do = What did you do?
check-page-how-much = How much?
check-page-nothing-added = Leave it empty when nothing was added.
check-page-photos-again = Choose your photos again:
check-page-photos-why = a browser does not keep them. Everything else you gave is still here.
check-page-out-of-service = Out of service
check-page-held = { $unit } is held. You may check it, but you may not use it whatever the check says.
check-page-walk = Walk round in this order. Answer every item: skipping is not an answer. In doubt, answer defect.
check-page-watched = What is being watched
check-page-watched-first = First: what is being watched
check-page-watched-look = Look at each one before anything else. Worse means out of service at once.
check-page-since = Since { $when }.
check-page-said-gone = Said to be gone { $when }; a mechanic has not looked yet.
check-page-what-do-you-see = What do you see?
check-page-needed-when-worse = Needed when it is worse.
check-page-today = The machine today
check-page-load = Load
check-page-warmth = Engine and fluids
check-page-warmth-hint = Warm once it has run this morning. Left open, the limits of both count.
check-page-air = Air temperature
check-page-air-hint = May be left empty. { $explained } A low tyre is low all the same.
check-page-cold-morning = The same air presses less when it is cold: a tyre of { $sound } at { $celsius } °C reads { $reads } at { $cold } °C, with no air lost.
check-page-no-meter = Leave it empty only when there is no hour meter.
check-page-anything-else = Anything else?
check-page-note = Note
check-page-may-be-empty = May be left empty.
check-page-send = Send the check
check-page-answered = Answered
check-page-next-open = Next open item

## The big answers.

check-answer-unladen = Unladen
check-answer-laden = Laden
check-answer-cold = Cold
check-answer-warm = Warm
check-answer-same = The same
check-answer-worse = Worse
check-answer-gone = Gone
check-answer-ok = OK
check-answer-defect = Defect
check-answer-works = Works
check-answer-works-not = Does not work
check-answer-between = Between the marks
check-answer-below = Below
check-answer-above = Above
check-answer-measured = Measured
check-answer-cannot-measure = Cannot measure
check-answer-put-right = Put right now
check-answer-cannot-read = Cannot read it
check-answer-not-fitted = Not fitted

## What is asked again.

check-form-say-load = Say whether the machine is laden or unladen: some limits depend on it.
check-form-hours = Engine hours: { $fault }
check-form-look-at-watched = A defect is being watched. Look at it and say: same, worse or gone.
check-form-changed = Somebody else changed the machine meanwhile. Send the check again.
check-form-too-large = The check is too large or did not arrive whole. Send it again.
check-form-not-whole = The check did not arrive whole. Go back and send it again.
