### The tag on a held machine.

tag-title = Tag of { $unit }
tag-how = Print it on A5 card. Fix it by string, wire or tape where the driver cannot miss it: on the steering wheel or the handlebar. It stays for as long as { $unit } is held.
tag-danger = DANGER
tag-warning = WARNING
tag-do-not-use = DO NOT USE
tag-machine = Machine
tag-and-more = and { $count } more
tag-held-by = Held by
tag-since = Since
tag-do-not-remove = Do not remove this tag.
tag-no-lockout = This tag isolates no energy and replaces no lockout/tagout.
tag-until-release = Only a signed release puts { $unit } back to use.
tag-until-one = Only { $who } or a supervisor lifts this hold.
tag-until-several = Only those who placed these holds or a supervisor lift them.
tag-not-held = { $unit } is not held, so there is no tag to print.
