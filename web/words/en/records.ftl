### The owner's records: taking everything out, and how long it is kept.

records-title = Records
records-set-up-about = Take everything out in one file, and say how long records are kept.
records-take-out = Take everything out
records-take-out-about = One archive (ZIP) with a table (CSV) for each kind: machines, people, parts, readings, checks, defects, holds, work orders, labour, stock, releases, mails and the audit trail with its proof. No passwords or PINs are in it. It holds names and addresses: keep it safe.
records-take-out-do = Take everything out
records-keep = How long records are kept
records-keep-about = Everything is kept for ever unless you say otherwise. The laws named here are those we know of, and may not be yours: local law comes first. Ask whoever insures you as well.
records-never = Nothing is ever removed of a machine with an open defect, hold or work order (30 CFR 56.14100(d): records of defects until they are corrected), nor while another record needs it. Photos, work orders, labour, releases, the store’s books and the audit trail stay.
records-months = Months
records-months-hint = At least { $least }; usual: { $usual }. Empty keeps them for ever.
records-about-checks = Checks that raised nothing. The last one of each machine stays, one with photos stays, and one with figures or with something put right stays { $months } months at least: rules look back on it.
records-about-repairs = Closed defects with their sightings, retests and lifted holds: { $months } months at least for a machine in use, because rules look back on them. After a machine has left they stay { $left } months at least. Those with photos stay.
records-about-alerts = Mails that were delivered. One that told of a hold stays as long as the hold’s record.
records-about-messages = Messages to other programs (webhooks) that they have taken.
records-law-checks = 49 CFR 396.11(a)(4): a driver’s inspection report, three months.
records-law-repairs = 49 CFR 396.3(c): one year, and six months after the vehicle leaves.
records-law-alerts = No law is known to us.
records-goes = { $count ->
    [one] One record goes, of { $first }: it is from before { $before }.
   *[other] { $count } records go, from { $first } on: they are from before { $before }.
 }
records-nothing-goes = Nothing goes as of today: no record is from before { $before }.
records-would-go = { $count ->
    [0] Nothing is set. With the usual time nothing would go as of today.
    [one] Nothing is set. With the usual time one record would go as of today: it is from before { $before }.
   *[other] Nothing is set. With the usual time { $count } records would go as of today: they are from before { $before }.
 }
records-sure = What is removed does not come back. Take everything out first.
records-save = Save, and remove what is older
records-look = See what would go
records-only-looking = Below is what would go. Nothing is set yet.

record-kind-checks = Checks
record-kind-repairs = Repairs
record-kind-alerts = Mails
record-kind-messages = Messages to other programs

retention-months = Give whole months from { $least } to { $most }, or leave it empty to keep everything.
retention-for-months = { $count ->
    [one] kept one month
   *[other] kept { $count } months
 }
retention-for-ever = kept for ever
retention-span = { $count } from { $first } to { $last }
retention-by-itself = by itself, as the owner set it

export-readme-file = README.txt
export-readme =
    Everything kept in Chock on { $made }.

    Each .csv file is a table by RFC 4180: UTF-8, commas, a first line with the names of the columns.
    Times are UTC by RFC 3339. Amounts are in { $currency }. Engine hours are in hours.
    A cell that a spreadsheet would run as a formula begins with an apostrophe; take it off to have the text.

    machines.csv, people.csv, parts.csv and readings.csv can be taken into another Chock, in this order
    (add the yards of yards.csv first): chock import machines machines.csv
    A machine that was out of service or watched is held there until somebody has looked at it.
    Passwords, PINs, links and photos are not in this archive.

    audit.csv is the audit trail. In each line, the SHA-256 of “hashed” (UTF-8) is “hash”, in hexadecimal.
    “hashed” is a JSON array of what the line says; its last member is the “hash” of the line before in the
    same stream, and empty in the first. So nobody can change, add or remove a line in between unseen.
