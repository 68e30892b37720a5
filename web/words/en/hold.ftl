### Grounding a machine by hand.

hold-page-title = Ground { $unit }
hold-page-anybody = Anybody may stop a machine. Nobody may use { $unit } until you or a supervisor lift the hold. The supervisors, mechanics and owners are told.
hold-page-already = { $unit } is out of service already.
hold-page-own-stays = A hold of your own stays when the other one ends.
hold-page-caution = A hold on record moves no lever and shuts no valve. Park the machine safely, stop the engine, take the key, and lock out and tag out as your procedure says.
hold-page-why = Why must it stay?
hold-page-why-hint = What you saw, heard or smelt, and where.
hold-page-report-instead = Report a defect instead
hold-page-difference = A reported defect gets a work order, and its hold ends with the repair. A hold you place here ends when somebody lifts it.
