### What is said of a form that was not taken.

form-changed = Somebody else changed this while you looked at it. Look again, then send it again.
form-too-large = The form is too large or did not arrive whole.
form-not-whole = The form did not arrive whole. Send it again.
form-not-whole-because = The form did not arrive whole ({ $fault }). Send it again.
form-too-many-fields = The form has too many fields.
form-field-too-large = { $name } is too large. Send at most { $most } MB.
form-photos-too-large = The photos are too large together. Send at most { $most } MB.

## Times that people type.

form-give-moment = Give a day and a time, such as 2026-11-25 07:30.
form-zone-unknown = The yard's time zone is not known.
form-clocks-back = On { $day } the clocks went back and { $clock } came twice. Give a time outside that hour.
form-clocks-forward = On { $day } the clocks went forward and { $clock } did not exist. Give a time outside that hour.
form-give-day = Give a day, such as 2026-11-27, or leave it empty.
form-no-such-day = There is no such day in the yard's time zone.
