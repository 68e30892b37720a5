### Bringing in files: machines, people, parts, meter readings.

import-password-why = People are given rights by this. You gave your password more than a quarter of an hour ago.
import-title = Bring in a file
import-set-up-about = Machines, people, parts and meter readings from a table, all at once.
import-how = The file is a table (CSV). Its first line names the columns, in any order. First you see what it would do. Nothing is taken before you say so, and then all of it or nothing.
import-which = What is in the file?
import-kind-machines = Machines
import-kind-people = People
import-kind-parts = Parts
import-kind-readings = Meter readings
import-about-machines = New machines, or another class, description or serial number. Engine hours, standing and retirement are taken for new machines only. A new machine that was out of service or monitored is held here until somebody lifts the hold.
import-about-people = New people get a link that works once, as when you add them by hand. “Disabled” is taken for new people only.
import-about-parts = A line for each part and yard. What lies in the bin comes in as goods in, at what it is worth, where nothing has moved yet. A bin that has moved is put right at a stock-take.
import-about-readings = Readings of the hour meter, one a line. A newer one moves the meter, an older one fills in history. Or a fleet’s file by ISO 15143-3 (AEMP 2.0), in XML or JSON: machines are found by serial number, then by unit number.
import-file = The file
import-file-hint = At most { $most } MB and { $rows } lines, in UTF-8. With semicolons between the columns, figures have a decimal comma; with commas, a decimal point.
import-look = See what it would do
import-template = An empty file to fill in
import-columns = Columns
import-column = Column
import-column-about = What it says
import-column-example = Example
import-column-needed = needed
import-column-optional = may be left out
import-back = Bring in another file
import-back-set-up = Back to set-up
import-would = What this file would do
import-counts = { $added } to add, { $changed } to change, { $same } already so.
import-nothing-to-do = Everything in this file is already so. There is nothing to take.
import-faults = { $count ->
    [one] One thing must be mended first. Nothing is taken until then.
   *[other] { $count } things must be mended first. Nothing is taken until then.
 }
import-line = Line
import-what = What
import-outcome = What happens
import-changes = In detail
import-fault = What is wrong
import-more-rows = { $count } more lines are not shown. They are taken as well.
import-unknown = { $count ->
    [one] One machine in this file is not known here. It is left out.
   *[other] { $count } machines in this file are not known here. They are left out.
 }
import-take = Take all of it
import-taken = Taken
import-taken-counts = { $added } added, { $changed } changed, { $same } already so.
import-links = { $count ->
    [one] One link, shown this once
   *[other] { $count } links, shown this once
 }
import-no-file = Choose a file.
import-from-to = { $column }: { $before } → { $after }
import-is = { $column }: { $after }
import-empty-cell = empty

import-outcome-added = added
import-outcome-changed = changed
import-outcome-already-so = already so

import-about-unit-number = As painted on the machine. It tells which machine the line is about.
import-about-yard = Name of the yard. A machine that is known stays in its yard.
import-about-class = Such as quad or tractor. It decides which checklist is used.
import-about-description = What it is, in a few words.
import-about-serial = The maker’s serial number.
import-about-hours = What the hour meter shows.
import-about-standing = fit for use, monitored, out of service or retired.
import-about-retired = The day it was retired. Empty for a machine in use.
import-about-name = First and last name.
import-about-mail = Signs in with it. It tells which person the line is about.
import-about-roles = operator, mechanic, supervisor, owner; several with | between them.
import-about-yards = Names of yards, with | between them. An owner sees every yard.
import-about-rate = For an hour of labour.
import-about-disabled = yes or no.
import-about-part-number = It tells which part the line is about.
import-about-part-name = What it is called.
import-about-part-unit = In which it is counted: piece, set, L.
import-about-part-yard = The yard whose bin this is.
import-about-bin = Where it lies.
import-about-on-hand = How much lies there to begin with.
import-about-worth = What all of it together is worth.
import-about-reading-unit = As painted on the machine.
import-about-reading-hours = What the meter showed.
import-about-read-at = When. By the yard’s clock, or with its offset (RFC 3339).
import-about-confirmed = yes where the meter was changed, or leapt for another good reason.

import-at-line = Line { $line }: { $sentence }
import-at-cell = Line { $line }, { $column }: { $sentence }
import-too-large = The file is larger than { $most } MB. Divide it into several.
import-too-many-rows = There are more than { $most } lines. Divide the file into several.
import-not-utf8 = This line is not written in UTF-8. Save the file again as “CSV UTF-8”.
import-empty = The file is empty.
import-no-rows = There is nothing below the first line.
import-unreadable = The file cannot be read as a table: { $fault }.
import-open-quote = A quotation mark is opened here and never closed. Close it, or write it twice where it belongs to the text.
import-cells = This line has { $has } cells and the first line { $needs }. Give each column a cell, if an empty one.
import-column-twice = The column stands twice. Leave one of them out.
import-column-unknown = “{ $given }” is no column of this file. These are: { $known }.
import-column-missing = This column is needed. Add it to the first line.
import-yes-or-no = Write yes or no.
import-decimal-comma = In a file with semicolons the decimal sign is a comma, and nothing stands between thousands.
import-decimal-point = In a file with commas the decimal sign is a point, and nothing stands between thousands.
import-date = Write the time as 2026-11-24, 2026-11-24 16:30, or 2026-11-24T16:30:00+01:00.
import-cell-empty = Fill this in.
import-standing = Write fit for use, monitored, out of service or retired, or leave it empty.
import-stands-twice = It stands on line { $first } already. Leave one of them out.
import-no-yards = There is no yard yet. Add one first.
import-unknown-yard = There is no yard “{ $name }” for you. There are: { $known }.
import-other-yard = This machine belongs to { $yard }. A file does not move a machine.
import-unknown-role = “{ $given }” is no role. Write operator, mechanic, supervisor or owner.
import-worth-needed = Say what it is worth, 0 if nothing.
import-part-unit = This part is counted in { $unit } already. A file does not change that.
import-part-name = This part is called “{ $name }” on an earlier line.
import-stock-has-moved = Stock of this part has moved here: { $has } on hand, worth { $worth }. Put it right at a stock-take, and leave the cell empty.
import-unknown-machine = There is no machine with this number for you.
import-reading-differs = For this moment { $hours } engine hours are known already.
import-in-the-future = This is still to come.
import-falls-after = The meter would fall: { $hours } here, and { $next } afterwards. Mend the reading, or write yes under “confirmed”.
import-held = It was { $standing } in the file it came from. Look at it before it is used.
import-receipt-note = From a file

hours-file-none = There is no CumulativeOperatingHours in this file.
hours-file-no-xml = The file is no sound XML: { $fault }.
hours-file-no-json = The file is no sound JSON: { $fault }.
hours-file-entity = The file uses an entity “{ $name }” of its own. Such files are not read.
hours-file-doctype = The file begins with a document type (DOCTYPE). Such files are not read.
hours-file-cut-off = The file ends in the middle. Fetch it again.
hours-file-hour = This is no number of hours.
hours-file-datetime = This is no time as ISO 8601 writes it.
