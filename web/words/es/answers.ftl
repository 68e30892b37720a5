## Lo que se contesta a revisiones y avisos, además de lo que también dice el teléfono (judge.ftl, judge-answers.ftl).

judge-brought = Llevado de { $now } a los { $then } en que falló: { $why }
answers-did-not-fail = { $title } no falló, así que aquí no se pide. Quítelo.
answers-air-at = aire a { $air }
level-below = por debajo
level-between = entre las marcas
level-above = por encima

## Defectos en vigilancia

watched-a-defect = un defecto
watched-twice = «{ $what }» tiene dos respuestas. Deje una.
watched-say-what-is-worse = Diga en pocas palabras qué ha empeorado en «{ $what }».
watched-open = «{ $what }» está en vigilancia. Mírelo y diga: igual, peor o ya no está.

## Avisos, según MIL-STD-882E

risk-table = { $category } × { $probability } = { $level } (MIL-STD-882E, tabla III)
risk-certain = Efecto seguro en { $what }: siempre fuera de servicio. { $table }.
risk-in-doubt = En la duda afecta a { $what }: fuera de servicio. { $table }.
risk-by-checklist = { $table }; con esta lista, fuera de servicio desde { $from }.
risk-without-checklist = { $table }; sin lista de revisión, fuera de servicio desde { $from }.
risk-told = Riesgo considerado { $level }; esta lista deja la máquina fuera de servicio desde «{ $from }».
risk-told-without-checklist = Riesgo considerado { $level }; sin lista de revisión, la máquina queda fuera de servicio desde «{ $from }».
risk-fire-safety = protección contra incendios
risk-not-known = frenos, dirección, retención o combustible
risk-rule-certain = efecto seguro en lo que puede matar
risk-rule-doubt = duda sobre lo que puede matar
risk-rule-level = nivel de riesgo del aviso

## Revisiones que parecen descuidadas

careless-how-quick = Segundos por respuesta, frente a la mediana de las revisiones anteriores de esta máquina con la misma lista. Se muestra si es menos de la mitad de la mediana y está más de { $far } desviaciones medianas por debajo. Hacen falta { $fewest } revisiones con tiempo.
careless-how-same = La misma cifra hasta el último dígito, revisión tras revisión. Se muestra si el azar lo explica menos de una vez de cada { $once }, según cuántas veces esta cifra no cambió antes. Hacen falta { $fewest } pares de revisiones anteriores; una presión, que cambia con el tiempo que hace, se muestra tras { $most } revisiones sin ellos.
careless-how-hours = El horómetro entre dos revisiones: retrocedió, corrió más que el reloj, o no se movió en { $most } revisiones de días distintos aunque se mueve casi todos los días. Hacen falta { $fewest } pares de revisiones anteriores.
careless-quick = { $pace } s por respuesta en { $items } respuestas; lo habitual en esta máquina son { $usual } s (mediana de { $count } revisiones).
careless-thin-quick = Hay poco historial para decir cuánto dura una revisión: { $count ->
    [one] 1 revisión con tiempo
   *[other] { $count } revisiones con tiempo
 } antes, hacen falta { $fewest }.
careless-changed = antes cambió en { $changed } de { $pairs ->
    [one] 1 revisión
   *[other] { $pairs } revisiones
 }
careless-weather = una presión cambia con el tiempo que hace
careless-same = { $first } en { $running } revisiones seguidas; { $why }.
careless-same-and-more = { $first } en { $running } revisiones seguidas; { $why } (y { $count ->
    [one] otro lugar
   *[other] otros { $count } lugares
 } igual).
careless-thin-same = Hay poco historial para decir si las cifras iguales son raras: { $pairs ->
    [one] 1 par
   *[other] { $pairs } pares
 } antes, hacen falta { $fewest }.
careless-hours-back = El horómetro retrocedió de { $before } h a { $now } h, confirmado en esta revisión. ¿Es nuevo el horómetro?
careless-hours-ran = El horómetro corrió { $ran } h en { $passed } h de reloj (de { $before } h a { $now } h).
careless-hours-still = El horómetro marca { $hours } h en revisiones de { $running } días seguidos; antes se movió en { $moved } de { $pairs } días.
careless-thin-hours = Hay poco historial para decir si un horómetro parado es raro: { $pairs ->
    [one] 1 par de días
   *[other] { $pairs } pares de días
 } antes, hacen falta { $fewest }.
