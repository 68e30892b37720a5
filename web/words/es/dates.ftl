### Fechas completas, para lo que se imprime.

date-in-full = { $day } de { $month } de { $year }, { $clock }
date-day-in-full = { $day } de { $month }
date-reached = Llegó a Chock { $when }.
month-full-january = enero
month-full-february = febrero
month-full-march = marzo
month-full-april = abril
month-full-may = mayo
month-full-june = junio
month-full-july = julio
month-full-august = agosto
month-full-september = septiembre
month-full-october = octubre
month-full-november = noviembre
month-full-december = diciembre
