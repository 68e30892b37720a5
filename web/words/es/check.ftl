### La revisión previa al uso: la vuelta a la máquina.

check-page-what-is-wrong = ¿Qué está mal?
check-page-photo = Foto
check-page-open-already = Ya está abierto:
check-page-same-or-worse = { $what }. Mírelo primero: ¿igual o peor?
check-page-look-first = { $what }. Mírelo primero.
check-page-figure-of = { $title }, cifra
check-page-unit = Unidad
check-page-limit = Límite
check-page-last = Última
check-page-note-or-photo = Nota o foto
check-page-what-did-you-do = ¿Qué hizo?
check-page-how-much = ¿Cuánto?
check-page-nothing-added = Déjelo vacío si no añadió nada.
check-page-photos-again = Elija otra vez sus fotos:
check-page-photos-why = el navegador no las conserva. Todo lo demás que indicó sigue aquí.
check-page-out-of-service = Fuera de servicio
check-page-held = { $unit } está retenida. Puede revisarla, pero no puede usarla, diga lo que diga la revisión.
check-page-walk = Dé la vuelta en este orden. Responda cada punto: saltarlo no es una respuesta. En caso de duda, responda defecto.
check-page-watched = Lo que está en vigilancia
check-page-watched-first = Primero: lo que está en vigilancia
check-page-watched-look = Mire cada uno antes que nada. Peor significa fuera de servicio de inmediato.
check-page-since = Desde { $when }.
check-page-said-gone = Dicen que ya no está ({ $when }); ningún mecánico lo ha mirado todavía.
check-page-what-do-you-see = ¿Qué ve?
check-page-needed-when-worse = Necesario si está peor.
check-page-today = La máquina hoy
check-page-load = Carga
check-page-warmth = Motor y fluidos
check-page-warmth-hint = Caliente si ya trabajó esta mañana. Sin respuesta, valen los límites de ambos.
check-page-air = Temperatura del aire
check-page-air-hint = Puede quedar vacío. { $explained } Un neumático bajo está bajo de todos modos.
check-page-cold-morning = El mismo aire presiona menos cuando hace frío: un neumático de { $sound } a { $celsius } °C marca { $reads } a { $cold } °C, sin haber perdido aire.
check-page-no-meter = Déjelo vacío solo si no hay horómetro.
check-page-anything-else = ¿Algo más?
check-page-note = Nota
check-page-may-be-empty = Puede quedar vacío.
check-page-send = Enviar la revisión
check-page-answered = Respondidos
check-page-next-open = Siguiente punto abierto

## Las respuestas grandes.

check-answer-unladen = Sin carga
check-answer-laden = Con carga
check-answer-cold = Frío
check-answer-warm = Caliente
check-answer-same = Igual
check-answer-worse = Peor
check-answer-gone = Ya no está
check-answer-ok = Bien
check-answer-defect = Defecto
check-answer-works = Funciona
check-answer-works-not = No funciona
check-answer-between = Entre las marcas
check-answer-below = Por debajo
check-answer-above = Por encima
check-answer-measured = Medido
check-answer-cannot-measure = No se puede medir
check-answer-put-right = Corregido ahora
check-answer-cannot-read = No se puede leer
check-answer-not-fitted = No lo lleva

## Lo que se pregunta otra vez.

check-form-say-load = Diga si la máquina va con carga o sin carga: algunos límites dependen de ello.
check-form-hours = Horas de motor: { $fault }
check-form-look-at-watched = Hay un defecto en vigilancia. Mírelo y diga: igual, peor o ya no está.
check-form-changed = Otra persona cambió la máquina entretanto. Envíe la revisión de nuevo.
check-form-too-large = La revisión es demasiado grande o no llegó completa. Envíela de nuevo.
check-form-not-whole = La revisión no llegó completa. Vuelva atrás y envíela de nuevo.
