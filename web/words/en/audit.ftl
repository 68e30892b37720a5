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
audit-part = Entries { $first } to { $last }, newest first, times in { $zone }
audit-older = Older ones
audit-when = When
audit-who = Who
audit-what = What
audit-from = From
audit-to = To
audit-why = Why
audit-chain = Chain
audit-place = { $chain } no. { $number }

## Signed heads

heads-title = Signed heads
heads-about = Once a day, the state of every chain is put into one figure and signed. Keep these outside this server: on paper, or in a mailbox that whoever runs the server cannot change. Then nobody can cut entries off or rewrite them afterwards without it showing.
heads-check = Save a mail with a head as a file, or type a head's number and hash from paper between its first and last line. { $command } then says whether the trail still holds all that was signed.
heads-key = The key that signs
heads-key-about = Print this once and keep it. A head that another key signed did not come from this server.
heads-readers = Mailed to
heads-readers-about = Choose at least one person whose mailbox is not on this server.
heads-readers-who = Who gets each head by mail
heads-readers-save = Save who gets them
heads-signed = The newest heads
heads-sign = Sign one now
heads-none = Nothing is signed yet. The first head is signed within an hour of the first entry.
heads-one = Head { $number }, { $when }
heads-over = { $entries ->
    [one] { $entries } entry
   *[other] { $entries } entries
 } in { $chains ->
    [one] { $chains } chain
   *[other] { $chains } chains
 }
