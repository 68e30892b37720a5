### What a check was answered with.

verdict-page-photos-lost = { $count ->
    [one] The check is in. One photo was not kept
   *[other] The check is in. { $count } photos were not kept
 }
verdict-page-photos-of = No picture that can be read here came with: { $items }. The check itself is complete without it.
verdict-page-now = Page of { $unit }
verdict-page-do-now = Do this now
verdict-page-take-another = Take another machine. Fit for use here:
verdict-page-why = Why
verdict-page-seen-before = It was open already; this check saw it again.
verdict-page-came-back = It is back soon after its release; the supervisors are told.
verdict-page-judged-by = Judged by the rules of { $rules }.
verdict-page-rules = { $checklist }, version { $version }
verdict-page-watched = What was being watched
verdict-page-watched-now = { $now }.
verdict-page-watched-noted = { $now }: “{ $note }”
verdict-page-told = Who has been told
verdict-page-nobody-told = Nobody had to be told at once. The check is on record.
verdict-page-no-mail = Nobody was sent a mail for this check. The defects are open and the workshop sees them.
verdict-page-order = There is a { $order } for it. What becomes of it is under { $reports }.
verdict-page-work-order = work order
verdict-page-wears = What wears
verdict-page-all-answers = All answers of this check
verdict-page-item = Item
verdict-page-answer = Answer
verdict-page-photo-of = Photo: { $title }
verdict-page-context-hours = { $context }, { $hours } h

## Why, in one line.

verdict-page-held-before = It was held before this check, and it stays so whatever the check says.
verdict-page-held-when-arrived = It was out of service when this check arrived, and it stays so: a check that arrives late puts nothing back to use.
verdict-page-gone-stays = The check found nothing new. What is gone stays open until a mechanic has looked.
verdict-page-still-watched = The check found nothing new. Earlier defects are still being watched.
verdict-page-all-well = No item failed.
verdict-page-and-more = { $first } And { $count } more, below.
verdict-page-since-released = Since this check { $unit } was released. What it may be used for now is on its page.
verdict-page-since-held = Since this check { $unit } was put out of service. Do not use it.

## What to do now.

verdict-page-do-not-use = Do not use { $unit }.
verdict-page-take-key = Take the key out and keep it from the next driver.
verdict-page-hang-tag = Hang the tag where nobody can miss it: on the steering wheel or the handlebar.
verdict-page-may-use-watched = You may use { $unit }. Stop and report it if anything gets worse.
verdict-page-may-use = You may use { $unit }.

## Who has been told.

verdict-page-mail-sent-at = mail sent { $when }
verdict-page-mail-sent = mail sent
verdict-page-mail-again = mail not delivered yet, it is tried again: tell them yourself
verdict-page-mail-going = mail on its way
verdict-page-mail-failed = mail not delivered: tell them yourself
verdict-page-told-came-back = { $name } (it came back)
verdict-page-photos-not-stored = The check is in. Its photos are not
verdict-page-photos-show = The place where pictures are kept cannot be reached just now. Keep the photos of: { $items }, and show them to the supervisor.
