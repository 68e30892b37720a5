### Listas de revisión: sus versiones, una de ellas, comparar, copiar, retirar.

checklists-title = Listas de revisión
checklists-back-set-up = Volver a los ajustes
checklists-heading = Listas de revisión y reglas
checklists-empty = Todavía no hay ninguna lista de revisión. Suba la primera: sin ella no se puede revisar nada.
checklists-newest-first = Versiones, lo más reciente primero
checklists-checklist = Lista de revisión
checklists-name = Nombre
checklists-version = Versión
checklists-since = Desde
checklists-state = Estado
checklists-your-drafts = Sus borradores
checklists-draft = { $title } ({ $name }), cambiado { $when }
checklists-write = Escribir o cambiar una aquí
checklists-write-how = Abra una versión para editarla, copiarla para otras clases, probarla, compararla o retirarla. O empiece una desde cero.
checklists-begin-new = Empezar una lista nueva
checklists-upload-heading = Subir una versión
checklists-upload-how = Una lista de revisión es un archivo TOML. El mismo nombre hace la versión siguiente de esa lista, en uso desde la próxima revisión. Las revisiones y los defectos conservan la versión con la que se hicieron.
checklists-file = Archivo
checklists-paste = O péguela aquí
checklists-upload = Subir
checklists-version-title = { $title }, versión { $version }
checklists-back = Volver a las listas de revisión
checklists-for = Para
checklists-reports = Avisos
checklists-reports-from = Un defecto comunicado deja la máquina fuera de servicio desde el nivel de riesgo «{ $level }»
checklists-edit = Editar como borrador
checklists-try = Probarla
checklists-copy = Copiar para otras clases
checklists-take-file = Obtener el archivo (TOML)
checklists-retire = Retirar
checklists-compare-with = Comparar con
checklists-compare = Comparar
checklists-walk = El recorrido
checklists-safety-item = punto de seguridad
checklists-at = en { $positions }
checklists-rules = Las reglas
checklists-no-rule = Un punto de seguridad que falla y del que ninguna regla habla deja la máquina fuera de servicio.
checklists-rules-count = { $count ->
    [one] { $count } regla; decide la más grave que se cumpla
   *[other] { $count } reglas; decide la más grave que se cumpla
 }
checklists-rule = Regla
checklists-when = Cuándo
checklists-severity = Gravedad
checklists-told = Instrucción
checklists-final = definitiva
checklists-and = y { $condition }
checklists-good-for = con plazo de { $time }
checklists-to = para { $whom }
checklists-as-file = Como archivo (TOML)
checklists-back-short = Volver
checklists-different = Qué es diferente
checklists-before = Antes
checklists-after = Después
checklists-nothing = Nada: el recorrido y las reglas son los mismos.
checklists-new = Una lista nueva
checklists-copy-of = Copiar { $title }
checklists-copy-heading = Copiar “{ $title }”
checklists-begins-empty = Empieza vacía: dele zonas, puntos y reglas. Es un borrador hasta que la guarde.
checklists-comes-along = El recorrido y las reglas se copian. Cambie lo que sea diferente para las otras máquinas. Es un borrador hasta que la guarde.
checklists-field-title = Título
checklists-title-hint = Por ejemplo: Revisión diaria, cortacésped con asiento.
checklists-classes = Clases de máquinas
checklists-classes-hint = Con comas entre ellas: cortacésped con asiento, desbrozadora.
checklists-begin-draft = Empezar el borrador
checklists-retire-of = Retirar { $title }
checklists-back-to = Volver a “{ $title }”
checklists-retire-heading = Retirar una lista de revisión
checklists-retire-caution = Las máquinas sin lista de revisión no se pueden revisar antes del uso. Tenga antes otra lista en uso para ellas.
checklists-left-without = Quedarían sin lista de revisión: { $machines }.
checklists-elsewhere = { $count } en otros patios
checklists-retire-question = ¿Retirar “{ $title }” ({ $name }, versión { $version })?
checklists-retire-means = No se hace ninguna revisión nueva con ninguna de sus versiones. Las revisiones y los defectos hechos con ella la conservan. Una versión posterior del mismo nombre la recupera.
checklists-reason = Motivo
checklists-retire-button = Retirar “{ $title }”
checklists-not-now = Ahora no
checklists-not-utf8 = Este archivo no es texto en UTF-8. Guárdelo como UTF-8 y elíjalo de nuevo.
checklists-refuse-none = Elija un archivo o pegue la lista de revisión.
checklists-is-retired = retirada
checklists-is-replaced = sustituida por otra posterior
checklists-in-use = en uso
checklists-days = { $count ->
    [one] { $count } día
   *[other] { $count } días
 }
checklists-hours = { $hours } horas de motor
checklists-or = { $one } o { $other }
checklists-place = { $item }, { $position }
checklists-when-is = { $at }: { $is }
checklists-when-below-marks = { $at }: por debajo de sus marcas
checklists-when-between-marks = { $at }: entre sus marcas
checklists-when-above-marks = { $at }: por encima de sus marcas
checklists-when-machine = la máquina está { $how }
checklists-below = por debajo de { $figure }
checklists-above = por encima de { $figure }
checklists-below-and-above = por debajo de { $low } y por encima de { $high }
checklists-when-apart = { $at }: las posiciones difieren en más de { $figure }
checklists-times = { $count ->
    [one] { $count } vez
   *[other] { $count } veces
 }
checklists-when-corrected = { $at }: corregido { $often } en { $time }
checklists-when-recurs = { $at }: de vuelta antes de { $days } días desde su devolución al servicio
checklists-when-trend = { $at }: puede quedar { $side } en { $hours } horas de motor, por su tendencia
checklists-brought-to = { $what }, llevado a { $temperature } °C
checklists-list-and = { $list } y { $last }

## Cómo se pregunta por un punto, y a qué lado de un límite está un valor

asked-condition = estado
asked-function = funcionamiento
asked-level = nivel
asked-measure = medida
side-below-limit = por debajo del límite
side-above-limit = por encima del límite
side-outside-limits = fuera de los límites
