### Lo que se respondió a una revisión.

verdict-page-photos-lost = { $count ->
    [one] La revisión se ha recibido. Una foto no se guardó
   *[other] La revisión se ha recibido. { $count } fotos no se guardaron
 }
verdict-page-photos-of = No llegó ninguna imagen que se pueda leer aquí con: { $items }. La revisión está completa sin ella.
verdict-page-now = Página de { $unit }
verdict-page-do-now = Haga esto ahora
verdict-page-take-another = Tome otra máquina. Aptas para el uso aquí:
verdict-page-why = Por qué
verdict-page-seen-before = Ya estaba abierto; esta revisión lo vio de nuevo.
verdict-page-came-back = Ha vuelto poco después de la devolución al servicio; se avisa a los supervisores.
verdict-page-judged-by = Evaluada según las reglas de { $rules }.
verdict-page-rules = { $checklist }, versión { $version }
verdict-page-watched = Lo que estaba en vigilancia
verdict-page-watched-now = { $now }.
verdict-page-watched-noted = { $now }: «{ $note }»
verdict-page-told = A quién se ha avisado
verdict-page-nobody-told = No había que avisar a nadie de inmediato. La revisión consta en el registro.
verdict-page-no-mail = No se envió ningún correo por esta revisión. Los defectos están abiertos y el taller los ve.
verdict-page-order = Hay una { $order } para ello. Lo que pase con ella está en { $reports }.
verdict-page-work-order = orden de trabajo
verdict-page-wears = Lo que se desgasta
verdict-page-all-answers = Todas las respuestas de esta revisión
verdict-page-item = Punto
verdict-page-answer = Respuesta
verdict-page-photo-of = Foto: { $title }
verdict-page-context-hours = { $context }, { $hours } h

## Por qué, en una línea.

verdict-page-held-before = Estaba retenida antes de esta revisión, y sigue así diga lo que diga la revisión.
verdict-page-held-when-arrived = Estaba fuera de servicio cuando llegó esta revisión, y sigue así: una revisión que llega tarde no devuelve nada al uso.
verdict-page-gone-stays = La revisión no encontró nada nuevo. Lo que ya no está sigue abierto hasta que lo mire un mecánico.
verdict-page-still-watched = La revisión no encontró nada nuevo. Los defectos anteriores siguen en vigilancia.
verdict-page-all-well = Ningún punto falló.
verdict-page-and-more = { $first } Y { $count } más, abajo.
verdict-page-since-released = Después de esta revisión, { $unit } se devolvió al servicio. Para qué se puede usar ahora está en su página.
verdict-page-since-held = Después de esta revisión, { $unit } quedó fuera de servicio. No la use.

## Qué hacer ahora.

verdict-page-do-not-use = No use { $unit }.
verdict-page-take-key = Saque la llave y no la deje al alcance del siguiente conductor.
verdict-page-hang-tag = Cuelgue la etiqueta donde nadie pueda dejar de verla: en el volante o el manillar.
verdict-page-may-use-watched = Puede usar { $unit }. Pare y comuníquelo si algo empeora.
verdict-page-may-use = Puede usar { $unit }.

## A quién se ha avisado.

verdict-page-mail-sent-at = correo enviado { $when }
verdict-page-mail-sent = correo enviado
verdict-page-mail-again = correo aún sin entregar, se intenta de nuevo: avísele usted
verdict-page-mail-going = correo en camino
verdict-page-mail-failed = correo no entregado: avísele usted
verdict-page-told-came-back = { $name } (volvió a aparecer)
verdict-page-photos-not-stored = La revisión está registrada. Sus fotos no
verdict-page-photos-show = El lugar donde se guardan las imágenes no responde ahora. Guarde las fotos de: { $items }, y enséñeselas al supervisor.
