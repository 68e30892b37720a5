### Checklists: their versions, one of them, comparing, copying, retiring.

checklists-title = Checklists
checklists-back-set-up = Back to set-up
checklists-heading = Checklists and rules
checklists-empty = There is no checklist yet. Upload the first one: without it nothing can be checked.
checklists-newest-first = Versions, newest first
checklists-checklist = Checklist
checklists-name = Name
checklists-version = Version
checklists-since = Since
checklists-state = State
checklists-your-drafts = Your drafts
checklists-draft = { $title } ({ $name }), changed { $when }
checklists-write = Write or change one here
checklists-write-how = Open a version to edit it, copy it for other classes, try it out, compare it or retire it. Or begin one from nothing.
checklists-begin-new = Begin a new checklist
checklists-upload-heading = Upload a version
checklists-upload-how = A checklist is a TOML file. The same name makes the next version of that checklist, in use from the next check on. Checks and defects keep the version they were made with.
checklists-file = File
checklists-paste = Or paste it here
checklists-upload = Upload
checklists-version-title = { $title }, version { $version }
checklists-back = Back to the checklists
checklists-for = For
checklists-reports = Reports
checklists-reports-from = A reported defect grounds from the risk level “{ $level }”
checklists-edit = Edit as a draft
checklists-try = Try it out
checklists-copy = Copy for other classes
checklists-take-file = Take the file (TOML)
checklists-retire = Retire
checklists-compare-with = Compare with
checklists-compare = Compare
checklists-walk = The walk
checklists-safety-item = safety item
checklists-at = at { $positions }
checklists-rules = The rules
checklists-no-rule = A safety item that fails and that no rule speaks of is out of service.
checklists-rules-count = { $count ->
    [one] { $count } rule; the most severe that matches decides
   *[other] { $count } rules; the most severe that matches decides
 }
checklists-rule = Rule
checklists-when = When
checklists-severity = Severity
checklists-told = Instruction
checklists-final = final
checklists-and = and { $condition }
checklists-good-for = good for { $time }
checklists-to = to { $whom }
checklists-as-file = As a file (TOML)
checklists-back-short = Back
checklists-different = What is different
checklists-before = Before
checklists-after = After
checklists-nothing = Nothing: the walk and the rules are the same.
checklists-new = A new checklist
checklists-copy-of = Copy { $title }
checklists-copy-heading = Copy “{ $title }”
checklists-begins-empty = It begins empty: give it zones, items and rules. It is a draft until you save it.
checklists-comes-along = The walk and the rules come along. Change what is different for the other machines. It is a draft until you save it.
checklists-field-title = Title
checklists-title-hint = For instance: Daily check, ride-on mower.
checklists-classes = Classes of machines
checklists-classes-hint = With commas between them: ride-on mower, brush cutter.
checklists-begin-draft = Begin the draft
checklists-retire-of = Retire { $title }
checklists-back-to = Back to “{ $title }”
checklists-retire-heading = Retire a checklist
checklists-retire-caution = Machines without a checklist cannot be checked before use. Have another one in use for them first.
checklists-left-without = Without a checklist then: { $machines }.
checklists-elsewhere = { $count } in other yards
checklists-retire-question = Retire “{ $title }” ({ $name }, version { $version })?
checklists-retire-means = No new check is made with any version of it. Checks and defects that were made with it keep it. A later version of the same name brings it back.
checklists-reason = Reason
checklists-retire-button = Retire “{ $title }”
checklists-not-now = Not now
checklists-not-utf8 = This file is not text in UTF-8. Save it as UTF-8 and choose it again.
checklists-refuse-none = Choose a file, or paste the checklist.
checklists-is-retired = retired
checklists-is-replaced = replaced by a later one
checklists-in-use = in use
checklists-days = { $count ->
    [one] { $count } day
   *[other] { $count } days
 }
checklists-hours = { $hours } engine hours
checklists-or = { $one } or { $other }
checklists-place = { $item }, { $position }
checklists-when-is = { $at }: { $is }
checklists-when-below-marks = { $at }: below its marks
checklists-when-between-marks = { $at }: between its marks
checklists-when-above-marks = { $at }: above its marks
checklists-when-machine = the machine is { $how }
checklists-below = below { $figure }
checklists-above = above { $figure }
checklists-below-and-above = below { $low } and above { $high }
checklists-when-apart = { $at }: positions differ by more than { $figure }
checklists-times = { $count ->
    [one] { $count } time
   *[other] { $count } times
 }
checklists-when-corrected = { $at }: put right { $often } within { $time }
checklists-when-recurs = { $at }: back within { $days } days of its release
checklists-when-trend = { $at }: may be { $side } within { $hours } engine hours, by its trend
checklists-brought-to = { $what }, brought to { $temperature } °C
checklists-list-and = { $list } and { $last }

## How an item is asked for, and on which side of a limit a value is

asked-condition = condition
asked-function = function
asked-level = level
asked-measure = measure
side-below-limit = below limit
side-above-limit = above limit
side-outside-limits = outside limits
