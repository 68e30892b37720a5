### Cuándo se prevé que una máquina esté de vuelta.

forecast-days = Indique de 1 a 400 días.
forecast-no-such-order = Indique el número de una orden de trabajo abierta en uno de sus patios.
forecast-waits-for-nothing = Esa orden de trabajo no espera nada que tenga fecha.

forecast-choose-yard = Elija un patio.
forecast-by = Probablemente de vuelta { $likely }; casi seguro { $surely }.
forecast-likely-only = Probablemente de vuelta { $likely }; no se puede decir cuánto tardará como máximo.
forecast-repaired-by = Probablemente reparada { $likely }; casi seguro { $surely }.
forecast-likely-repaired-only = Probablemente reparada { $likely }; no se puede decir cuánto tardará como máximo.
forecast-waits-part = Espera un repuesto, previsto { $day }.
forecast-waits-part-overdue = Espera un repuesto que se esperaba { $day }.
forecast-waits-outside = Está fuera en reparación, prometida: { $day }.
forecast-waits-outside-overdue = Está fuera en reparación; la prometieron para { $day }, que ya pasó.
forecast-waits-access = Espera acceso, previsto { $day }.
forecast-waits-access-overdue = Espera un acceso que se esperaba { $day }.
forecast-waits-information = Espera información, prevista { $day }.
forecast-waits-information-overdue = Espera una información que se esperaba { $day }.
forecast-waits-shift = Nadie que pueda hacerlo trabaja antes de { $when }.
forecast-waits-queue = { $ahead ->
    [0] Ninguna orden de trabajo va antes
    [one] Va antes una orden de trabajo
   *[other] Van antes { $ahead } órdenes de trabajo
 }, y { $able ->
    [one] puede hacerlo un mecánico
   *[other] pueden hacerlo { $able } mecánicos
 }.
forecast-repair-itself = Lo más largo es la propia reparación: unas { $time } de trabajo.
forecast-no-date-part = No se puede decir cuándo vuelve: el repuesto que espera no tiene fecha.
forecast-no-date-outside = No se puede decir cuándo vuelve: la empresa que la tiene no prometió ningún día.
forecast-no-date-access = No se puede decir cuándo vuelve: espera acceso sin fecha.
forecast-no-date-information = No se puede decir cuándo vuelve: espera información sin fecha.
forecast-nobody-here = No se puede decir cuándo vuelve: ningún mecánico trabaja en su patio.
forecast-nobody-skilled = No se puede decir cuándo vuelve: ningún mecánico de su patio tiene conocimientos de { $systems }.
forecast-no-shift = No se puede decir cuándo vuelve: quien puede hacerlo no tiene turnos.
forecast-beyond = No se puede decir cuándo vuelve: no será antes de { $days } días.

## La página

forecasts-title = Cuándo vuelven las máquinas
forecasts-back = Cola
forecasts-now = Ahora
forecasts-none = No hay nada previsto: no hay órdenes de trabajo abiertas, o se abrieron hace un momento.
forecasts-not-foreseen = { $count ->
    [one] Hay una orden de trabajo abierta más de la que no se dice nada
   *[other] Hay { $count } órdenes de trabajo abiertas más de las que no se dice nada
 }: se abrió hace un momento, o queda detrás de las primeras { $most } de la cola.
forecasts-order = orden de trabajo { $number }
forecasts-what-if = ¿Y si…?
forecasts-nothing-saved = Vea qué cambiaría. No se guarda nada.
forecasts-one-more = Un mecánico más en
forecasts-show = Ver la diferencia
forecasts-what-changes = Qué cambiaría
forecasts-asked-mechanic = Con un mecánico más en { $yard }:
forecasts-asked-earlier = { $days ->
    [one] Si lo que espera la orden de trabajo { $number } llega un día antes:
   *[other] Si lo que espera la orden de trabajo { $number } llega { $days } días antes:
 }
forecasts-what-order = Orden de trabajo que espera
forecasts-days-earlier = Lo que espera llega antes: cuántos días
forecasts-no-difference = No cambiaría nada.
forecasts-sooner = { $by } antes
forecasts-later = { $by } después
forecasts-as-is = Como está: { $sentence }
forecasts-would-be = Entonces: { $sentence }
forecasts-how-good = Qué tal acertó hasta ahora
forecasts-likely-held = «Probablemente» se cumplió (debería ser la mitad)
forecasts-surely-held = «Casi seguro» se cumplió (deberían ser nueve de diez)
forecasts-mean-error = Distancia media a «probablemente»
forecasts-hours = { $hours } h
forecasts-beside = Comparado con «lo mismo que la última vez»
forecasts-beside-figures = { $ours } h de desvío, frente a { $last } h con «lo mismo que la última vez» ({ $counted } órdenes de trabajo)
forecasts-counted = Órdenes de trabajo contadas
forecasts-too-few = { $counted ->
    [one] Hay una orden de trabajo con previsión y trabajo hecho.
   *[other] Hay { $counted } órdenes de trabajo con previsión y trabajo hecho.
 } Desde { $needed } se muestra aquí cuántas veces se cumplió la previsión.
forecasts-definitions = Qué significan las cifras
forecasts-def-likely = «Probablemente»: la mitad de las reparaciones está hecha para entonces. «Casi seguro»: nueve de diez. Ambas se leen en mil pruebas, en el lugar donde terminaron de verdad las últimas doscientas reparaciones de este taller: si el trabajo siempre empezó más tarde de lo que saben las pruebas, las fechas quedan más tarde.
forecasts-def-how = Cada prueba recorre todo el taller: los tiempos de reparación del mismo punto y clase hasta ahora, los turnos, festivos y ausencias, quién tiene qué conocimientos, cuándo se esperan repuestos y reparaciones externas y qué puntuales fueron esas promesas, y el orden de la cola.
forecasts-def-first = Cada orden de trabajo cuenta una vez, por la primera previsión que se dio de ella y por cuándo se hizo su trabajo. Los tiempos son de reloj, noches incluidas.
forecasts-def-naive = «Lo mismo que la última vez» supone que tarda lo que tardó la última reparación del mismo punto en una máquina de la misma clase, desde que se abrió hasta que se hizo.
