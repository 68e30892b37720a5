### El tablero del patio.

board-title = Tablero del patio
board-export = Exportar como CSV
board-yard = Patio
board-all-yards = Todos
board-class = Clase
board-all-classes = Todas
board-show = Mostrar
board-more = Hay más de las que caben en una página.
board-choose = Elija un patio o exporte como CSV.
board-none-here = Aquí ninguna máquina está fuera de servicio.
board-none = Ninguna máquina está fuera de servicio.
board-grounded = { $count ->
    [one] { $count } máquina fuera de servicio
   *[other] { $count } máquinas fuera de servicio
 }
board-so-far = { $cost } hasta ahora
board-machine = Máquina
board-why = Por qué
board-since = Desde
board-with = Con
board-waiting-for = Espera
board-cost = Costo hasta ahora
board-undelivered = { $count ->
    [one] { $count } alerta no entregada
   *[other] { $count } alertas no entregadas
 }
board-order = Orden de trabajo { $number }
board-open-for = Abrir una orden de trabajo para { $unit }
board-open-one = Abrir una
board-monitored = En vigilancia
board-nothing-watched = No se vigila nada.
board-watched = { $count ->
    [one] { $count } defecto en vigilancia
   *[other] { $count } defectos en vigilancia
 }
board-what = Qué
board-found = Hallado
board-good-until = Plazo hasta
board-left = Queda
board-counts = Recuento
board-no-machines = Todavía no hay máquinas.
board-no-choice = Ninguna máquina con esta elección. Elija otro patio u otra clase.
board-available = Disponibles frente a necesarias hoy
board-needed = Debe haber
board-fit = Aptas
board-out = Fuera
board-short = Faltan
board-more-holds = { $why }{ $more ->
    [0] { "" }
    [one] {" "}(y una retención más)
   *[other] {" "}(y { $more } retenciones más)
 }
board-nobody-yet = nadie todavía
board-waits-look = que la mire quien la retuvo, o un aviso
board-waits-order = una orden de trabajo
board-waits-late = { $what }, se esperaba { $day }
board-waits-dated = { $what }, { $day }
board-waits-mechanic = un mecánico
board-waits-parts-and-mechanic = repuestos y después un mecánico
board-waits-release = nueva comprobación y devolución
board-waits-start = que empiece el trabajo
board-waits-repair = la reparación en curso
board-hours = { $hours } h
board-none-left = nada
board-engine-hours = { $hours } horas de motor
board-told-nobody = no había que avisar a nadie
board-told = { $count ->
    [one] 1 alerta entregada
   *[other] { $count } alertas entregadas
 }
board-not-acknowledged = sin acuse de recibo desde hace { $since }
board-under-way = { $count ->
    [one] 1 alerta aún en camino
   *[other] { $count } alertas aún en camino
 }
board-moved = Sin revisar hoy, aunque anduvo
board-meter = Horómetro
board-moved-said = { $gained } h más que antes; { $hours } h leídas { $at }
board-last-check = Última revisión
board-never = nunca
board-ahead = Probablemente disponibles frente a las necesarias, hoy y los próximos 7 días
board-ahead-how = Hoy es lo que ahora es apto para el uso. Una máquina que probablemente vuelva cuenta desde el día siguiente; una cuya vigilancia termina no cuenta desde ese día.
board-of-needed = { $fit } de { $needed }
board-wall-view = Para una pantalla de pared
board-usual-view = Vista normal
