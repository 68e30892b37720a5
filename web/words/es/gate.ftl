### La máquina en la puerta.

gate-another-machine = Tome otra máquina
gate-held = Retenida { $when } por { $by }.
gate-why-lifted = ¿Por qué se puede levantar?
gate-whole-record = El registro completo de { $unit }
