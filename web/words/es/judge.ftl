## Lo que se juzga y por qué: lo dice el servidor y, palabra por palabra, el teléfono (web/static/judge.js).

load-unladen = sin carga
load-laden = con carga
warmth-cold = en frío
warmth-warm = en caliente
judge-cold-or-warm = en frío o en caliente
outcome-ok = bien
outcome-defect = defecto
outcome-not-applicable = no procede
outcome-corrected = corregido

judge-not-answered = sin respuesta
judge-corrected-by = corregido ({ $amount })
judge-value-and-limit = { $value }, { $limit }
judge-answered-defect = { $value }, respuesta: defecto
judge-not-measured = no se pudo medir
judge-below-marks = por debajo de las marcas
judge-above-marks = por encima de las marcas
judge-not-read = no se pudo leer
judge-does-not-work = no funciona
judge-failed = con defecto
judge-at-least = mínimo { $figure }
judge-at-most = máximo { $figure }

judge-at-temperature = { $brought } a { $celsius } °C, { $limit }
judge-below-figure = { $value }, menos de { $figure }
judge-above-figure = { $value }, más de { $figure }
judge-below-figure-at = { $brought } a { $celsius } °C, menos de { $figure }
judge-above-figure-at = { $brought } a { $celsius } °C, más de { $figure }

judge-less-than = { $apart } menos que { $position }, máximo { $most }
judge-more-than = { $apart } más que { $position }, máximo { $most }
judge-window-hours = { $hours } h
judge-window-days = { $days ->
    [one] 1 día
   *[other] { $days } días
 }
judge-corrected-amount = corregido en { $amount } en { $window }
judge-corrected-times = corregido { $count ->
    [one] 1 vez
   *[other] { $count } veces
 } en { $window }
judge-not-right-times = mal { $count ->
    [one] 1 vez
   *[other] { $count } veces
 } en { $window }
judge-back = { $days ->
    [0] de nuevo el día de su devolución
    [one] de nuevo 1 día después de su devolución
   *[other] de nuevo { $days } días después de su devolución
 }

judge-may-be-below = puede bajar de { $figure } en { $hours } h
judge-may-be-above = puede pasar de { $figure } en { $hours } h
judge-from-today = Desde { $value } hoy, tras { $hours } h: se esperan { $expected }, en el peor caso { $worst } (95 %).
judge-trend-ahead = { $points } lecturas anteriores en { $over } h: { $figure } hacia { $expected } h, entre { $earliest } h y { $latest } h (95 %).
judge-trend-away = { $points } lecturas anteriores en { $over } h: la tendencia se aleja de { $figure }.

judge-weather-cold-and-gone = { $limit } a { $celsius } °C se leen como { $reads } a { $air }: el frío explica eso, faltan { $gone } más.
judge-weather-gone = { $limit } a { $celsius } °C se leen como { $reads } a { $air }: faltan { $gone }, más de lo que muestra el manómetro.
judge-weather-cold = { $limit } a { $celsius } °C se leen como { $reads } a { $air }: el frío lo explica, pero el neumático está bajo igualmente.

judge-rule = (regla: { $rule }).
judge-rule-safety-item-failed = punto de seguridad con defecto
judge-rule-item-failed = punto con defecto
judge-rule-safety-item-unanswered = punto de seguridad sin respuesta
judge-instruction-stop = No use la máquina. Estaciónela, saque la llave, no deje que nadie la use y avise al supervisor.
judge-instruction-watch = Puede usar la máquina. Mire esto otra vez en cada revisión, y pare si empeora.
