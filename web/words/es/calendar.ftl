### El calendario.

calendar-title = Su calendario
calendar-about = Un enlace con el que su programa de calendario muestra los plazos de los defectos en vigilancia y cuándo se espera la vuelta de las máquinas de sus patios.
calendar-once = Copie ahora este enlace en su programa de calendario: no se vuelve a mostrar. Quien lo tenga puede leer estas fechas.
calendar-since = Tiene un enlace desde { $when }. No se vuelve a mostrar.
calendar-make = Crear un enlace
calendar-make-new = Crear un enlace nuevo
calendar-new-ends-old = Un enlace nuevo anula el anterior. Anúlelo si cree que otra persona lo tiene.
calendar-end = Anular el enlace
calendar-name = Máquinas de { $name }
calendar-good-until = { $unit }: termina el plazo: { $what }
calendar-then-out = Desde ahora { $unit } está fuera de servicio, salvo que se haya reparado.
calendar-back = { $unit }: casi seguro de vuelta en servicio
calendar-promised = { $unit }: { $vendor } prometió devolverla
trail-act-calendar-link-made = enlace de calendario creado
trail-act-calendar-link-ended = enlace de calendario anulado
thing-calendar = calendario
