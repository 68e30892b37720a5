### The record of a machine.

record-title = Record of { $unit }
record-record = Record
record-as-of = As of
record-empty = Nothing has happened to { $unit } yet. Its first check begins the record.
record-newest = Newest first
record-newest-first = The newest { $shown } of { $count } entries
record-show-all = Show all { $count } entries
record-newest-cut = Newest first; the earliest entries are left out here
record-when = When
record-entry = Entry
record-what = What
record-by = By
record-description = Description
record-serial = Serial number
record-careless-none = none in the last { $days } days
record-careless-none-said = none in the last { $days } days, of what its history lets be said
record-careless-signs = { $count ->
    [one] 1 sign in the last { $days } days
   *[other] { $count } signs in the last { $days } days
 }

## Kinds of entries.

record-kind-check = check
record-kind-defect-raised = defect raised
record-kind-defect-closed = defect closed
record-kind-order-opened = work order opened
record-kind-order-ended = work order ended
record-kind-release = release

## What they say.

record-check = { $verdict }, { $context }
record-check-hours = { $verdict }, { $hours } h, { $context }
record-defect = { $what } ({ $marks })
record-back-soon = back soon after its release
record-said-gone = said to be gone
record-closed-no-fault = { $what }. no fault found
record-closed = { $what }. cause: { $cause }; done: { $remedy }
record-order = work order { $number }
record-order-ended = work order { $number }: { $how }
record-order-ended-cost = work order { $number }: { $how }, cost { $cost }
record-released = released
record-released-by-repairer = released by the repairer
record-released-noted = { $how }. “{ $note }”
