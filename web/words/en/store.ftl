### The store.

store-title = Store
store-add = Add a part
store-empty = The store has no parts yet. Add the first one, then receive what is on the shelf.
store-count = { $count ->
    [one] { $count } part
   *[other] { $count } parts
 }
store-part = Part
store-number = Number
store-bin = Bin
store-on-hand = On hand
store-reserved = Reserved
store-free = Free
store-expected = Expected
store-worth = Worth
store-none = none
store-was-due = was due
store-total = Total
store-back = Back to the store
store-name = Name
store-part-number = Part number
store-as-on-box = As on the box.
store-unit = Unit
store-unit-hint = What it is counted in: each, L, m, kg …
store-bin-hint = Where it lies. May be left empty.
store-add-this = Add this part
store-nothing-coming = Nothing is on its way.
store-receive = Receive
store-note = Note
store-note-hint = Delivery note or supplier. May be left empty.
store-expected-on = Expected on
store-save-day = Save the day
store-ledger = Ledger
store-nothing-yet = Nothing has come in or gone out yet.
store-newest-first = Newest first
store-when = When
store-movement = Movement
store-how-many = Quantity
store-value = Value
store-who = Who
store-quantity-in = Quantity, { $unit }
store-value-in = What all of it cost, { $currency }
store-each = each
