### Los envíos.

outbox-title = Envíos
outbox-about = Cada alerta, si se ha entregado y qué dijo por último el servidor de correo.
outbox-failing = { $count ->
    [one] { $count } no se ha entregado.
   *[other] { $count } no se han entregado.
 }
outbox-empty = Todavía no se ha enviado ninguna alerta. Cuando una máquina se retiene o se devuelve al servicio, aquí se ve a quién se avisa.
outbox-count = { $count ->
    [one] { $count } alerta, lo más reciente primero
   *[other] { $count } alertas, lo más reciente primero
 }
outbox-only-failing = Solo lo no entregado
outbox-all = Todas las alertas
outbox-none-failing = Todo se ha entregado o está en camino.
outbox-older = Más antiguas
outbox-alert = Alerta
outbox-to = Para
outbox-state = Estado
outbox-tries = Intentos
outbox-last-answer = Última respuesta
outbox-when = Cuándo
outbox-back = Volver a los envíos
outbox-none-yet = ninguna todavía
outbox-happened = Ocurrió
outbox-machine = Máquina
outbox-send-again = Enviarlo de nuevo
outbox-not-composed = Este correo no se puede mostrar: no se pudo componer.
outbox-tried = intentado, aún no entregado
outbox-to-be-sent = por enviar
outbox-being-sent = enviándose
outbox-delivered = entregado
outbox-refused = no entregado, rechazado definitivamente
outbox-given-up = no entregado, abandonado
outbox-delivered-at = Entregado
outbox-next-try = Próximo intento
outbox-one = Un correo
