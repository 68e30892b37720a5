### Las cifras de la flota.

numbers-title = Cifras
numbers-28 = Últimas 4 semanas
numbers-91 = Últimas 13 semanas
numbers-365 = Últimos 12 meses
numbers-1826 = Últimos 5 años
numbers-from = Desde
numbers-to = Hasta
numbers-period = { $from } a { $to }
numbers-machines = { $count ->
    [one] 1 máquina
   *[other] { $count } máquinas
 }
numbers-nothing = En este tiempo no había ninguna máquina. Elija otro.
numbers-figure = Cifra
numbers-this = En este tiempo
numbers-before = En el tiempo anterior
numbers-compared = El tiempo anterior: { $earlier }
numbers-not-known = no se sabe
numbers-no-shifts = no se sabe: ningún patio tiene turnos
numbers-available = Disponible por calendario
numbers-working = Disponible en horas de trabajo
numbers-downs = Fuera de servicio
numbers-downs-said = { $count ->
    [one] una vez
   *[other] { $count } veces
 }, { $time } en total
numbers-failures = Fallos
numbers-mtbf = Entre fallos
numbers-restoration = Vuelta al servicio
numbers-restoration-said = { $count ->
    [one] después de { $mean }, una vez
   *[other] después de { $mean } de media, { $count } veces
 }
numbers-cost = Reparaciones
numbers-coverage = Revisada los días que anduvo
numbers-coverage-said = { $share }: { $checked } días de máquina con revisión, { $unchecked } sin ella
numbers-acknowledged = Retenciones con acuse de recibo
numbers-none-asked = ninguna lo pedía
numbers-never-acknowledged = { $asked ->
    [one] la única que hubo, nadie
   *[other] ninguna de { $asked }
 }
numbers-acknowledged-said = la mitad en no más de { $median }; { $acknowledged } de { $asked }
numbers-not-acknowledged = todavía no
numbers-rows-acknowledged = Retenciones que piden acuse de recibo
numbers-asked-at = Pedido
numbers-seen-at = Acuse de recibo
numbers-seen-by = De
numbers-took = Tardó
numbers-passed-on = Pasado a
numbers-likely = Se cumplió «probablemente»
numbers-surely = Se cumplió «casi seguro»
numbers-held = { $share } de { $count } órdenes
numbers-held-few = no se sabe: { $count } de { $fewest } órdenes necesarias
numbers-careless-said = { $count ->
    [0] ninguna de las últimas 4 semanas
    [one] 1 revisión de las últimas 4 semanas
   *[other] { $count } revisiones de las últimas 4 semanas
 }
numbers-careless = por máquina, de las últimas semanas
numbers-steps = Disponible a lo largo del tiempo
numbers-as-a-table = En una tabla
numbers-split = En qué se fue el tiempo de parada
numbers-none-down = En este tiempo ninguna máquina estuvo fuera de servicio.
numbers-systems = Defectos por sistema
numbers-none-found = En este tiempo no se encontró ningún defecto.
numbers-first = { $count ->
    [one] El primero suma el 80 % o más del total.
   *[other] Los { $count } primeros suman el 80 % o más del total.
 }
numbers-system = Sistema
numbers-severity = Gravedad
numbers-defects = Defectos
numbers-grounding = Fuera de servicio
numbers-up-to = Hasta aquí
numbers-again = Otra vez
numbers-none-again = En este tiempo ningún punto falló dos veces en la misma máquina.
numbers-last-time = La última vez
numbers-times = Veces
numbers-costs = Máquinas más caras
numbers-none-cost = Ninguna reparación terminada en este tiempo costó nada.
numbers-orders = Órdenes de trabajo
numbers-order = Orden de trabajo
numbers-cost-of = Costo
numbers-opened = Abierta
numbers-ended = Terminada
numbers-closed = Cerrado
numbers-open = abierto
numbers-check = Revisión
numbers-next-check = Revisión siguiente
numbers-ran = Anduvo entre medias
numbers-days = Días sin revisión
numbers-back = Volver a las cifras
numbers-no-rows = No hay nada detrás de esta cifra.
numbers-cut = Elija un tiempo más corto o un patio, o exporte como CSV.
numbers-rows-down = Veces fuera de servicio
numbers-rows-defects = Defectos encontrados
numbers-rows-orders = Órdenes de trabajo terminadas
numbers-rows-unchecked = Anduvo un día sin revisión

numbers-def-available = Tiempo en funcionamiento ÷ (tiempo en funcionamiento + tiempo de parada) de todas las máquinas juntas (IEC 60050-192: disponibilidad, 192-01-23; tiempo de parada, 192-02-21). La parada va desde que se vio que una máquina no era apta hasta su vuelta al servicio. Una máquina cuenta desde el día en que se añadió hasta el día en que se retiró.
numbers-def-mtbf = Tiempo de calendario en que las máquinas no estuvieron fuera de servicio ÷ fallos (según EN 15341:2007, T17), con límites de ji cuadrado (NIST e-Handbook, 8.4.5.1). En horas de motor está en el registro de cada máquina.
numbers-def-restoration = Desde que se vio que no era apta hasta su vuelta al servicio, de media, de las que volvieron en este tiempo (ISO/TR 12489:2013; EN 15341:2007, T21).
numbers-def-split = Cada minuto fuera de servicio cuenta una vez: hasta que la revisión que lo encontró llegó a Chock, sin orden de trabajo, en la cola o tomada, en espera, en trabajo, y hecha pero sin devolver. «Cada vez» es por cada vez fuera de servicio.
numbers-def-cost = Mano de obra, repuestos y reparaciones fuera de las órdenes de trabajo que terminaron en este tiempo.
numbers-def-coverage = Días de máquina con revisión ÷ (esos + los días en que una máquina anduvo sin ella). Un día sin revisión solo cuenta si el horómetro lo demuestra: entre dos revisiones la máquina anduvo más de lo que quedaba del día de la primera. Así, la parte es más bien demasiado buena que demasiado mala.
numbers-def-acknowledged = Desde que una retención llegó a Chock hasta que alguien dijo haberla visto: la mitad de las que tuvieron acuse no tardaron más (mediana). Las que nadie acusó no tienen tiempo y se cuentan aparte.
numbers-def-systems = Defectos encontrados en este tiempo, pasara lo que pasara con ellos, los más frecuentes primero (Pareto).
numbers-def-again = El mismo punto de la misma máquina, en el mismo lugar, encontrado con defecto más de una vez en este tiempo.
numbers-odd-period = Indique los dos días. El final debe ser posterior al principio, diez años después como máximo.
numbers-quick = Tiempos habituales
