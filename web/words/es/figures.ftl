### Lo que el registro de una máquina dice de ella.

figures-title = Disponibilidad y fallos
figures-nothing-yet = no se sabe: aún no se ha observado nada
figures-available = Disponible por calendario
figures-available-said = { $share } del tiempo desde { $since }; fuera de servicio durante { $down }
figures-working = Disponible en horas de trabajo
figures-working-said = { $share } de las horas de trabajo del patio; fuera de servicio { $down } de { $wanted }
figures-working-none = no se sabe: el patio no tiene turnos
figures-hours = { $hours } h
figures-failure = Fallo
figures-failure-asked = ¿Es fallo?
figures-mtbf = Entre fallos
figures-mtbf-engine = { $mean } horas de motor de media: { $failures ->
    [one] 1 fallo
   *[other] { $failures } fallos
 } en { $total } horas de motor. Con una confianza del 90 %, entre { $low } y { $high }
figures-mtbf-calendar = { $mean } horas de calendario de media: { $failures ->
    [one] 1 fallo
   *[other] { $failures } fallos
 } en { $total } horas. Con una confianza del 90 %, entre { $low } y { $high }
figures-mtbf-none-engine = ningún fallo en { $total } horas de motor. Con una confianza del 90 %, al menos { $low } horas de motor de uno al siguiente
figures-mtbf-none-calendar = ningún fallo en { $total } horas de calendario. Con una confianza del 90 %, al menos { $low } de uno al siguiente
figures-course = Tendencia
figures-course-few = { $count ->
    [0] no se sabe: ningún fallo hasta ahora, y una tendencia necesita { $fewest }
    [one] no se sabe: 1 fallo hasta ahora, y una tendencia necesita { $fewest }
   *[other] no se sabe: { $count } fallos hasta ahora, y una tendencia necesita { $fewest }
 }
figures-course-none = ningún cambio que el azar no explique
figures-course-perhaps-more = quizá falla más a menudo que antes: una de dos pruebas lo dice, la otra no
figures-course-perhaps-less = quizá falla menos a menudo que antes: una de dos pruebas lo dice, la otra no
figures-course-more = falla más a menudo que antes; es poco probable que sea azar
figures-course-more-times = falla más a menudo que antes: { $times } × la tasa de hace un año; es poco probable que sea azar
figures-course-less = falla menos a menudo que antes; es poco probable que sea azar
figures-course-less-times = falla menos a menudo que antes: { $times } × la tasa de hace un año; es poco probable que sea azar
figures-restoration = Vuelta al servicio
figures-restoration-none = todavía no ha vuelto de estar fuera de servicio
figures-restoration-said = { $count ->
    [one] después de { $mean }, una vez
   *[other] después de { $mean } de media, { $count } veces
 }
figures-split = En qué se fue el tiempo de parada
figures-phase = Se fue en
figures-time = En total
figures-mean = Cada vez
figures-share = Parte
figures-downs = Veces fuera de servicio
figures-downs-cut = Las { $shown } más recientes
figures-from = Desde
figures-to = Hasta
figures-length = Durante
figures-most = Sobre todo
figures-still = sigue fuera de servicio
figures-a-failure = sí
figures-no-failure = no
figures-definitions = Cómo se calcula

figures-def-available = Tiempo en funcionamiento ÷ (tiempo en funcionamiento + tiempo de parada), en los últimos doce meses o desde que se añadió la máquina (IEC 60050-192: disponibilidad, 192-01-23; tiempo de parada, 192-02-21). La parada va desde que se vio que la máquina no era apta hasta su vuelta al servicio, esperase lo que esperase. Dos retenciones a la vez cuentan una vez.
figures-def-working = Lo mismo, pero solo cuentan las horas en que hay turno en el patio (EN 15341:2007, T2).
figures-def-failure = La máquina quedó fuera de servicio por un defecto que de verdad existía (EN 13306:2017). Una retención puesta a mano y una avería que no se encontró son tiempo de parada, pero no un fallo.
figures-def-mtbf = Tiempo de operación ÷ fallos (EN 15341:2007, T17), en horas de motor si la máquina tiene horómetro; si no, en horas de calendario en que no estuvo fuera de servicio. Los límites son los de ji cuadrado para un registro que termina ahora (NIST e-Handbook, 8.4.5.1); sin fallos hay un solo límite. Valen mientras la tasa no cambie.
figures-def-course = Dos pruebas contra una tasa constante: la de Laplace y la de MIL-HDBK-189. Se afirma una tendencia cuando ambas dan al azar menos del 5 %. Las tasas son las de la ley potencial (NIST e-Handbook, 8.4.5.2).
figures-def-restoration = Desde que se vio que no era apta hasta su vuelta al servicio, de media (ISO/TR 12489:2013: tiempo de restauración; EN 15341:2007, T21). «Trabajo» es el tiempo en que su orden estuvo en trabajo, no las horas anotadas. Si hay dos órdenes a la vez, el tiempo cuenta para la más avanzada.

## Costo.

figures-cost = Lo que cuesta
figures-cost-year = Reparaciones de los últimos 12 meses
figures-cost-before = De los 12 meses anteriores
figures-an-hour = { $cost } por hora de motor: { $whole } en { $hours } horas de motor
figures-no-hours = { $whole }; no se conocen horas de motor
figures-def-cost = Mano de obra, repuestos y reparaciones fuera de las órdenes de trabajo que terminaron en ese tiempo, ÷ las horas de motor de ese tiempo.
figures-keep-title = ¿Conservarla o cambiarla?
figures-keep-what = Es una cuenta y no un consejo: escriba lo que sabe y sígala línea a línea.
figures-keep-type-price = Precio de otra máquina
figures-keep-type-brings = Lo que aún dan por esta
figures-keep-type-years = Años que conservaría la otra
figures-keep-type-repairs = Reparaciones de la otra, al año
figures-keep-reckon = Hacer la cuenta
figures-keep-wrong = Escriba importes como 12500 o 12500,50, y años enteros de 1 a 50.
figures-keep-line = Línea
figures-keep-amount = Importe
figures-keep-price = Precio de otra máquina
figures-keep-less = menos lo que dan por esta
figures-keep-paid = por pagar
figures-keep-a-year = { $years ->
    [one] en un año, al año
   *[other] en { $years } años, al año
 }
figures-keep-its-repairs = y sus reparaciones, al año
figures-keep-replace = Cambiarla: al año
figures-keep-keep = Conservarla: reparaciones de esta en los últimos 12 meses
figures-keep-same = Las dos cosas cuestan lo mismo.
figures-keep-dearer = Conservarla cuesta { $apart } más al año, si las reparaciones del próximo año cuestan lo que las del último.
figures-keep-cheaper = Conservarla cuesta { $apart } menos al año, si las reparaciones del próximo año cuestan lo que las del último.

## Lo que se mide.

figures-wear-title = Lecturas
figures-wear-what = Desde que se cambió o se corrigió la pieza. A trazos: el límite, sin carga. Fina: la tendencia.
figures-wear-more = { $count ->
    [one] Mostrar un gráfico más
   *[other] Mostrar { $count } gráficos más
 }
figures-wear-says = { $title }: { $count } lecturas
figures-wear-crossing = Llega a { $limit } hacia las { $expected } horas del horómetro; según los límites del 95 %, entre { $earliest } y { $latest }.
figures-wear-away = La tendencia se aleja del límite.
figures-wear-no-trend = De estas lecturas no se puede sacar una tendencia.
figures-at-least = al menos { $figure }
figures-at-most = como máximo { $figure }
figures-axis-hours = horas del horómetro
figures-axis-days = días desde la primera lectura
figures-cost-thin = { $days ->
    [one] De los últimos 12 meses aquí solo consta 1 día: un año cuesta más.
   *[other] De los últimos 12 meses aquí solo constan { $days } días: un año cuesta más.
 }
