### What the scripts of pages say. They know text, what is filled in, and a choice by number.

## The check page.

script-answered-of = { $done } of { $all } answered
script-all-answered = All answered
script-to-send = Go to sending
script-cannot-be-read = Cannot be read. Like this: 14.5

## Recording a check or a report.

script-say-load = Say whether the machine is laden or unladen: some limits depend on it.
script-look-at-watched = { $what }: look at it and say the same, worse or gone.
script-say-what = Say what is wrong: what you saw, heard, felt or smelt.
script-answers-need = { $count ->
    [one] One answer needs your attention
   *[other] { $count } answers need your attention
 }
script-answers-more = And { $count } more: each is marked below.
script-was-not-taken = It was not taken.
script-phone-full = This phone is full and the server cannot be reached: nothing is saved. Leave this page open, free some space on the phone, and send again. If anything is wrong with the machine, fit a tag and tell the supervisor now.
script-as-recorded = As you recorded it { $when }.
script-as-recorded-no-photos = As you recorded it { $when }. Its photos must be chosen again.

## Judged on the spot.

script-watched-worse = It is watched and has got worse.
script-watch-over = The time to watch it is over.
script-do-not-use-machine = Do not use the machine.

## On this phone.

script-at = at { $time }
script-on-at = on { $day } at { $time }
script-check-of = Check of { $unit }
script-report-on = Report on { $unit }
script-no-rules = This phone has no rules to judge it by. If anything was not in order, do not use the machine: fit a tag and tell the supervisor.
script-until-decided = Until it is decided, treat the machine as out of service: fit a tag, tell the supervisor.
script-recorded = Recorded { $when } by { $who }.
script-sign-out-of-service = Out of service: do not use
script-sign-monitored = Fit for use, watch these
script-sign-fit-for-use = Fit for use
script-alone-held = Nobody else can see this yet. Fit a tag, take the key, and tell the supervisor yourself.
script-alone = Nobody else can see this yet. It is what this phone knows: look for a tag before you start.
script-received = Received
script-received-by-server = { $received } by the server { $when }.
script-photos-to-send = { $count ->
    [one] One photo is still to be sent.
   *[other] { $count } photos are still to be sent.
 }
script-photos-not-kept = Not kept, for they were no pictures that can be read: { $items }.
script-the-verdict = The verdict
script-the-machine = The machine
script-sending = Sending …
script-not-taken = Not taken.
script-mend = Mend and send again
script-saved = Saved on this phone.
script-saved-signed-out = Saved on this phone. Your sign-in has ended.
script-only-they-send = Only { $name } can send it: sign in as { $name }.
script-sent-with-signal = It is sent as soon as there is a signal.
script-sign-in = Sign in
script-send-now = Send now
script-delete = Delete it
script-delete-check = Delete the check of { $unit } from this phone? Nobody has seen it.
script-delete-report = Delete the report of { $unit } from this phone? Nobody has seen it.

## On every page.

script-no-signal = No signal.
script-kept-page = This page is what this phone knew { $when }. Look for a tag on the machine: it may have been held since.
script-not-kept = The page you asked for is not on this phone. It opens when there is a signal.
script-unsent = { $count ->
    [one] One record is on this phone only: nobody else can see it yet.
   *[other] { $count } records are on this phone only: nobody else can see them yet.
 }
script-all-sent = Everything on this phone is sent.
script-sign-in-to-send = Sign in again to send.
script-one-not-taken = One was not taken.
script-see-what = See what
script-leave = { $count ->
    [one] One record is on this phone only. Each is sent when the person who recorded it is signed in here again. { $act } all the same?
   *[other] { $count } records are on this phone only. Each is sent when the person who recorded it is signed in here again. { $act } all the same?
 }
script-sign-out = Sign out
script-no-sign-out = No signal: you are still signed in. Sign out when there is one.

## A page that keeps itself fresh.

script-live = Live · as of { $clock }
script-asked-again = As of { $clock }, asked again every 30 seconds
script-not-live = Not live: last seen { $clock }
script-not-live-sign-in = Not live: last seen { $clock }. Sign in again
