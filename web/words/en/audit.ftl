### The audit trail.

audit-title = Audit
audit-export = Export as CSV
audit-about = Entries are only ever added. Each carries the hash of the one before it in its chain, so that a changed or missing one shows. { $command } recomputes all of them.
audit-search = Who, what or why
audit-machine = Machine
audit-show = Show
audit-show-all = Show everything
audit-none = No entry matches.
audit-count = { $count ->
    [one] { $count } entry, newest first, times in { $zone }
   *[other] { $count } entries, newest first, times in { $zone }
 }
audit-newest = The newest { $count } entries, newest first, times in { $zone }
audit-when = When
audit-who = Who
audit-what = What
audit-from = From
audit-to = To
audit-why = Why
audit-chain = Chain
audit-place = { $chain } no. { $number }
