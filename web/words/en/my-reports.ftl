### What became of what one reported.

my-reports-none = You have reported nothing yet. What your checks find and what you report comes here, with what became of it.
my-reports-find = Find a machine
my-reports-reported = Reported { $when }.
my-reports-watched = It is being watched.
my-reports-watched-until = It is being watched, until { $until }.
my-reports-held = The machine is out of service until it is repaired.
my-reports-repaired = Repaired: { $remedy }. Retest and release are next.
my-reports-retested = Repaired: { $remedy }. The retest passed. Release is next.
my-reports-no-fault = The mechanic found no fault. Retest and release are next.
my-reports-no-fault-retested = The mechanic found no fault. The retest passed. Release is next.
my-reports-closed-no-fault = Closed { $when }: no fault found, and the retest passed.
my-reports-closed = Closed { $when }. Cause: { $cause }. Done: { $remedy }.
