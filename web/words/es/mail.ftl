### Correos: lo que dice una alerta.

mail-out-caps = { $unit } está FUERA DE SERVICIO. No la use.
mail-out = { $unit } está fuera de servicio. No la use.
mail-why = Por qué
mail-what-now = Qué hacer ahora
mail-no-energy = Una retención es un registro. No aísla ninguna energía ni sustituye el bloqueo y etiquetado.
mail-order = Hay una orden de trabajo en la cola de mecánicos.
mail-yard = Patio
mail-since = Desde
mail-stopped-by = Detenida por
mail-note = Nota de vuelta al servicio
mail-repair-released = Reparación aprobada
mail-back = { $unit } ha vuelto al servicio. Haga la revisión previa al uso antes de tomarla.
mail-still-out-caps = { $unit } sigue FUERA DE SERVICIO: hay otra retención abierta. No la use.
mail-another-hold = Hay otra retención abierta.
mail-no-fault = Fallo no encontrado.
mail-found = Hallado
mail-cause = Causa
mail-remedy = Remedio
mail-retested-by = Nueva comprobación superada, hecha por
mail-repaired-by = Reparada por
mail-released-by = Devuelta al servicio por
mail-by-repairer = { $name } (devuelta al servicio por quien la reparó)
mail-released = Devuelta al servicio
mail-lifted = Se levantó una retención de { $unit }.
mail-none-open = Ya no tiene ninguna retención abierta: se puede usar tras su revisión previa al uso.
mail-the-hold = La retención
mail-placed-by = Puesta por
mail-lifted-by = Levantada por
mail-lifted-because = Levantada porque
mail-lifted-at = Levantada
mail-place-again = Si sabe por qué la máquina debe quedarse donde está, reténgala de nuevo.
mail-meter-caps = El horómetro de { $unit } avanzó mientras la máquina estaba FUERA DE SERVICIO.
mail-meter = El horómetro de { $unit } avanzó mientras la máquina estaba fuera de servicio.
mail-when-held = Al empezar la retención
mail-now = Ahora
mail-hours = { $hours } h
mail-stands-still = Asegúrese de que la máquina está parada y no se puede arrancar. Después averigüe por qué avanzó el horómetro.
mail-read-by = Leído por
mail-read = Leído
mail-did-not-last = Lo que se reparó en { $unit } no duró: ha vuelto.
mail-watched = Está en vigilancia; mientras tanto la máquina se puede usar.
mail-released-last = Devuelta al servicio la última vez
mail-cause-then = Causa hallada entonces
mail-done-then = Lo que se hizo entonces
mail-defect-before = El defecto anterior
mail-this-defect = Este defecto
mail-find-out = Averigüe por qué no duró la reparación antes de hacerla otra vez de la misma manera.
mail-arrived-later = Llegó más tarde, de un teléfono sin señal
mail-found-by = Hallado por
mail-stands-now = Cómo está { $unit } ahora
mail-to = Para { $name }.
mail-law = Primero van la ley local, el manual del fabricante y la práctica autorizada.

## Asuntos: el número de unidad va primero.

mail-subject-out = { $unit } está fuera de servicio
mail-subject-out-because = { $unit } está fuera de servicio: { $what }
mail-subject-out-several = { $unit } está fuera de servicio: { $what } (y { $more } más)
mail-subject-back = { $unit } ha vuelto al servicio
mail-subject-released-still-out = { $unit } sigue fuera de servicio: se aprobó una reparación, hay otra retención abierta
mail-subject-lifted = { $unit }: { $name } levantó una retención
mail-subject-lifted-still-out = { $unit } sigue fuera de servicio: { $name } levantó una retención
mail-subject-meter = { $unit }: el horómetro avanzó estando fuera de servicio
mail-subject-came-back = { $unit }: de vuelta tras su reparación: { $what }
mail-subject-several-back = { $unit }: { $count } defectos han vuelto tras su reparación

## Fechas completas.

mail-date = { $weekday } { $day } de { $month } de { $year }, { $clock } ({ $zone })
mail-date-here = { $weekday } { $day } de { $month } de { $year }, { $clock }
mail-day-monday = lunes
mail-day-tuesday = martes
mail-day-wednesday = miércoles
mail-day-thursday = jueves
mail-day-friday = viernes
mail-day-saturday = sábado
mail-day-sunday = domingo
mail-timer = Su tiempo en la orden de trabajo { $number } seguía corriendo. Se detuvo por usted.
mail-timer-because = { $because }
mail-timer-from = Puesto en marcha
mail-timer-to = Detenido
mail-timer-put-right = Si no trabajó ese tiempo, corríjalo en «Mi tiempo».
mail-subject-timer = { $unit }: su tiempo en la orden de trabajo { $number } se detuvo por usted
