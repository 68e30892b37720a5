### Words that stand on many pages.

parts-caution = Caution
parts-answers-need = { $count ->
    [one] One answer needs your attention
   *[other] { $count } answers need your attention
 }
parts-answers-more = And { $count } more: each is marked below.
parts-law = Local law, the maker's manual and licensed practice come first. A hold is an administrative record: it isolates no energy and replaces no lockout/tagout.
parts-as-of = As of { $when }
parts-look-again = Look again
parts-back-to = Back to { $unit }
parts-print = Print
parts-show = Show
parts-more = More
parts-first = Back to the first
parts-next = Next { $count }
parts-csv = Export as CSV
parts-qr = QR symbol that leads to the page of { $unit }
parts-manifest = Pre-use checks, defects, repair and return to service
