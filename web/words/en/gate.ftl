### The machine at the gate.

gate-another-machine = Take another machine
gate-held = Held { $when } by { $by }.
gate-why-lifted = Why may it be lifted?
gate-whole-record = The whole record of { $unit }
