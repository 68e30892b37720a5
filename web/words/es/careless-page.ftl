### Revisiones que conviene mirar.

careless-page-title = Revisiones que mirar
careless-page-what-it-is = Revisiones de los últimos { $days } días que resultan raras según el historial de la propia máquina. Una señal es un motivo para mirar, no una falta: para cada una hay buenas razones. No se puntúa a nadie ni se envía ningún correo.
careless-page-no-machine = Todavía no hay ninguna máquina en uso en este patio.
careless-page-none-odd = { $count ->
    [one] 1 máquina mirada: ninguna revisión suya es rara.
   *[other] { $count } máquinas miradas: ninguna de sus revisiones es rara.
 }
careless-page-check = Revisión
careless-page-sign = Señal
careless-page-what = Qué es raro
careless-page-next = { $count } máquinas siguientes
careless-page-silences = { $count ->
    [one] 1 máquina con muy poco historial
   *[other] { $count } máquinas con muy poco historial
 }
careless-page-how = Cómo se juzga
