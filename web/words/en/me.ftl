### What a person chooses for themselves.

me-title = You
me-language = Language
me-language-hint = Of your pages, and of the mails you get.
me-units = Units
me-units-hint = In which figures are asked for. What was read stays as it was read.
me-units-of-the-machine = as the machine's checklist asks
me-save = Save
me-pin = PIN for this device
me-pin-hint = For a tablet that several people use.
me-which-language = Choose one of the languages.
me-which-units = Choose one of the systems of units.
unit-system-metric--kpa = metric: kPa, mm, °C, L
unit-system-metric--bar = metric: bar, mm, °C, L
unit-system-us-customary = US: psi, in, °F, US qt
