### Dates in full, for what is printed.

date-in-full = { $day } { $month } { $year }, { $clock }
date-day-in-full = { $day } { $month }
date-reached = It reached Chock { $when }.
month-full-january = January
month-full-february = February
month-full-march = March
month-full-april = April
month-full-may = May
month-full-june = June
month-full-july = July
month-full-august = August
month-full-september = September
month-full-october = October
month-full-november = November
month-full-december = December
