### Words that many sentences need.

standing-fit-for-use = fit for use
standing-monitored = monitored
standing-out-of-service = out of service
standing-retired = retired
severity-monitor = monitor
severity-out-of-service = out of service

## Times

date-today = today
date-yesterday = yesterday
date-tomorrow = tomorrow
date-today-at = today { $clock }
date-yesterday-at = yesterday { $clock }
date-tomorrow-at = tomorrow { $clock }
date-at = { $day } { $clock }
date-weekday = { $weekday } { $date }
date-day-month = { $day } { $month }
date-day-month-year = { $day } { $month } { $year }
date-month-year = { $month } { $year }
month-jan = Jan
month-feb = Feb
month-mar = Mar
month-apr = Apr
month-may = May
month-jun = Jun
month-jul = Jul
month-aug = Aug
month-sep = Sep
month-oct = Oct
month-nov = Nov
month-dec = Dec
weekday-mon = Mon
weekday-tue = Tue
weekday-wed = Wed
weekday-thu = Thu
weekday-fri = Fri
weekday-sat = Sat
weekday-sun = Sun
span-minutes = { $minutes } min
span-hours = { $hours } h { $minutes } min
span-days = { $days } d { $hours } h

markup-test = { $who } has { $count ->
    [one] { $count } machine
   *[other] { $count } machines
 } in { $what }.
