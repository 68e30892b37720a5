### The frame of every page.

frame-yard-board = Yard board
frame-machines = Machines
frame-my-reports = My reports
frame-on-this-phone = On this phone
frame-queue = Queue
frame-my-time = My time
frame-store = Store
frame-outbox = Outbox
frame-audit = Audit
frame-set-up = Set-up
frame-change-person = Change person
frame-pages = Pages
frame-menu = Menu
frame-close-menu = Close the menu
frame-sign-out = Sign out
frame-skip = Go to the page
frame-foot = Chock keeps the record. It isolates no energy: lock out and tag out as your procedure says.
frame-languages = Languages

## Said once after an act.

notice-signed-out = You are signed out.
notice-pin-set = Your PIN works on this device now, and nowhere else.
notice-pin-ended = Your PIN is off this device.
notice-device-forgotten = This device is forgotten. No PIN works here any more.
notice-held = The machine is out of service. Everybody who should know is being told. Fit the tag.
notice-lifted = The hold is lifted.
notice-lowered = The defect is watched now, and its hold is lifted. The reporter is told.
notice-reported = Your report is in.
notice-claimed = The work order is yours.
notice-handed-back = The work order is back in the queue.
notice-started = Your time is running.
notice-stopped = Your time is stopped.
notice-entered = The time is entered.
notice-reserved = The parts are reserved.
notice-issued = The parts are issued.
notice-returned = The parts are back in the store.
notice-waiting = The work order waits. The machine stays as it is.
notice-done = The work is marked done. Now the retest.
notice-retest-passed = The retest passed.
notice-retest-failed = The retest failed. The defect is back in work and the machine stays out of service.
notice-released = The machine is released. Everybody who should know is being told.
notice-released-still-held = The work order is closed. Another hold keeps the machine out of service.
notice-cancelled = The work order is cancelled. Its defects stay open and the machine stays as it is.
notice-saved = Saved.
notice-kept = Kept in the draft.
notice-removed = Taken out of the draft.
notice-discarded = The draft is thrown away.
notice-version-saved = The new version is saved and in use from the next check on.
notice-checklist-retired = The checklist is retired. No new check is made with it.
notice-watch-over = Saved. The time to watch a defect is over by these engine hours: the machine is out of service.
notice-resent = The mail will be sent again.
notice-received = The parts are in the store.
notice-reported-no-photo = Your report is in, but the photo was not kept: it is no picture that can be read here.
notice-lost-device-forgotten = The device is forgotten. No PIN works on it, and nobody is signed in on it any more.
notice-reported-photo-later = Your report is in, but the photo was not kept: the place where pictures are kept cannot be reached just now.
