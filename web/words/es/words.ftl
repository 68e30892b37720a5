### Palabras que usan muchas frases.

standing-fit-for-use = apta para el uso
standing-monitored = en vigilancia
standing-out-of-service = fuera de servicio
standing-retired = retirada
severity-monitor = vigilar
severity-out-of-service = fuera de servicio

## Times

date-today = hoy
date-yesterday = ayer
date-tomorrow = mañana
date-today-at = hoy { $clock }
date-yesterday-at = ayer { $clock }
date-tomorrow-at = mañana { $clock }
date-at = { $day } { $clock }
date-weekday = { $weekday } { $date }
date-day-month = { $day } { $month }
date-day-month-year = { $day } { $month } { $year }
date-month-year = { $month } { $year }
month-jan = ene
month-feb = feb
month-mar = mar
month-apr = abr
month-may = may
month-jun = jun
month-jul = jul
month-aug = ago
month-sep = sept
month-oct = oct
month-nov = nov
month-dec = dic
weekday-mon = lun
weekday-tue = mar
weekday-wed = mié
weekday-thu = jue
weekday-fri = vie
weekday-sat = sáb
weekday-sun = dom
span-minutes = { $minutes } min
span-hours = { $hours } h { $minutes } min
span-days = { $days } d { $hours } h

markup-test = { $who } tiene { $count ->
    [one] { $count } máquina
   *[other] { $count } máquinas
 } en { $what }.
