### The record of a machine in one file.

archive-take = The whole record (ZIP)
archive-read-me = The record of { $unit }, as it stood on { $made }.

    record.html       the record as it is shown
    machine.json, checks.json, defects.json, holds.json, work-orders.json, releases.json
                      everything it is made from; times are UTC, amounts are minor units of the currency
    photos/           the photos, each under the SHA-256 of its bytes; photos.json says what each one shows
    audit.jsonl       the machine’s audit trail: one entry a line, with the text that was hashed and its hash
    audit-head.json   where the trail ends
    verify_chain.py   checks the trail and the photos; it needs Python 3 and nothing else: python3 verify_chain.py

    Each entry of the trail holds the hash of the one before it, so that nothing can be changed, left out or put in
    between without every later hash being another. To know that the whole trail was not made anew, compare the last
    hash with one that you were given earlier.
