### La máquina en la puerta.

gate-another-machine = Tome otra máquina
gate-held = Retenida { $when } por { $by }.
gate-why-lifted = ¿Por qué se puede levantar?
gate-whole-record = El registro de { $unit }
gate-start-check = Empezar una revisión
gate-no-checklist = Ninguna lista de revisión cubre la clase «{ $class }»: { $unit } no se puede revisar antes de usarla. No la tome; avise a un supervisor.
gate-report = Comunicar un defecto
gate-print-tag = Imprimir la etiqueta
gate-ground = Dejarla fuera de servicio
gate-why-held = Por qué está retenida
gate-ends-with-repair = Termina cuando el defecto está reparado, comprobado de nuevo y la máquina devuelta al servicio.
gate-lift = Levantar esta retención
gate-lift-on = ¿Levantar esta retención de { $unit }?
gate-lift-caution = Mire primero la máquina. Levante la retención solo cuando ya no exista el motivo por el que se puso.
gate-placed-and-told = La puso { $who }, y se le avisará.
gate-lift-button = Levantar la retención de { $unit }
gate-only-they-lift = Solo { $who } o un supervisor la levanta.
gate-open-defects = Defectos abiertos
gate-none = Ninguno.
gate-good-until = plazo hasta { $until }
gate-found = Encontrado { $when }.
gate-came-back = Volvió poco después de la devolución al servicio.
gate-said-gone = Dicen que ya no está ({ $when }): un mecánico lo mira.
gate-order = Orden de trabajo
gate-order-number = Orden de trabajo { $number }
gate-order-state = { $order }: { $state }.
gate-open-order = Abrir una orden de trabajo para estos defectos
gate-another-hold = Poner otra retención a { $unit }
gate-last-check = Última revisión
gate-checked = { $when }, { $by }: { $verdict }.
gate-see-answers = Ver las respuestas
gate-never-checked = Nunca revisada. Empiece una revisión antes de tomarla.
gate-say-hours = Anotar lo que marca el horómetro
gate-engine-hours = Horas de motor
gate-hours-right = Las horas están bien como las escribí
gate-save-hours = Guardar las horas
gate-last-time = La última vez, { $hours } h.

## Lo que dice la señal.

gate-watch-these = Apta para el uso: vigile esto
gate-do-not-use = No usar
gate-held-since = { $reason } Retenida desde { $when }.
gate-more-reasons = { $count ->
    [one] Y un motivo más, abajo.
   *[other] Y { $count } motivos más, abajo.
 }
gate-no-defect-checked = Ningún defecto abierto. Última revisión: { $when }.
gate-no-defect-unchecked = Ningún defecto abierto. Nunca revisada todavía.
gate-retired = Retirada { $when }.

## Hasta cuándo se puede vigilar un defecto.

gate-until-either = { $day } o { $hours } h, lo que llegue primero
gate-until-hours = { $hours } h

## Cómo va su orden de trabajo.

gate-order-queued = en la cola, todavía no la tiene nadie
gate-order-waiting = con { $mechanic }; espera: { $what }
gate-order-waiting-until = con { $mechanic }; espera: { $what }; previsto { $when }
gate-order-with = con { $mechanic }
gate-order-done = trabajo hecho; faltan la nueva comprobación y la devolución al servicio
gate-order-closed = cerrada
gate-order-cancelled = anulada: { $reason }
