### Reporting a defect, and what became of it.

report-page-title = Report a defect on { $unit }
report-page-what-hint = What you saw, heard, felt or smelt, and where on the machine.
report-page-caution = Stop the engine and secure the machine before you look closer. Do not feel for a leak with your hand, and keep flames away.
report-page-open-is-worst = What you leave open counts as “not sure”, and “not sure” counts as the worst answer.
report-page-then-out = { $unit } is then out of service until somebody has looked.
report-page-risk-level = The answers give a risk level after MIL-STD-882E.
report-page-without-checklist = Without a checklist, { $unit } is out of service from the level “{ $level }” on.
report-page-by-checklist = By the checklist “{ $checklist }”, { $unit } is out of service from the level “{ $level }” on.
report-page-certain = A certain effect on brakes, steering, restraint, fuel or fire always puts it out of service.
report-page-photo-hint = May be left out.
report-page-photo-again = Choose it again: a browser does not keep it.
report-page-send = Report it

## The guided questions.

report-ask-affects = What is affected?
report-ask-affects-hint = Choose “none of these” only if you are sure of it.
report-ask-fire = Can it burn?
report-ask-fire-hint = It smokes or smells burnt, or fuel or oil can reach something hot.
report-ask-harm = Can it hurt somebody?
report-ask-harm-hint = The worst that can come of it while the machine is used.
report-ask-worse = Is it getting worse?
report-ask-certain = How do you know?
report-answer-none-of-these = none of these
report-answer-seen = I saw or felt it
report-answer-likely = it is likely
report-answer-suspected = I only suspect it
report-answer-not-sure = not sure
