## Checklists and what stands on them.

figure-no-unit = { $given } has no unit. Write the figure, a space and the unit, for instance 100 kPa.
picture-dipstick = A dipstick with the oil between its two marks
picture-fluid-marks = A fluid reservoir with the level between its two marks
picture-air-filter = An air filter seated square in its housing, both clips closed
picture-brake-pad = A brake pad on the disc: measure the lining, not the metal plate
picture-brake-disc = A brake disc with grooves worn round it and a crack from its edge
picture-tyre-gauge = A pressure gauge held square on the tyre valve
picture-seat-belt = A seat belt latched, and a hand that tugs at it
picture-leak = Drops under a hose joint and a spot on the ground
picture-hitch-pin = A hitch pin right through its bracket with the clip fitted
picture-track-sag = A track hanging between two wheels, its sag measured in the middle
picture-wheel-nuts = A wheel with five nuts, one of them missing
checklist-in-language = In { $language }
checklist-says-in = { $what } ({ $language })
checklist-says-title = Title
checklist-says-stand = Where to stand, and what must be so first
checklist-says-caution = Caution
checklist-says-todo = What to do
checklist-says-accept = What is acceptable
checklist-says-positions = Positions, in the same order
checklist-says-name = Name
checklist-says-instruction = What is the operator told?
