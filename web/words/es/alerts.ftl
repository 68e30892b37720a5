### Alertas: quién recibe qué, acuse, siguiente en la lista, resumen.

alert-kind-machine-held = una máquina queda fuera de servicio
alert-kind-used-while-out-of-service = se usó estando fuera de servicio
alert-kind-not-acknowledged = nadie ha acusado recibo
alert-kind-released = se devuelve una máquina al servicio
alert-kind-hold-lifted = se levanta una retención
alert-kind-defect-came-back = vuelve un defecto
alert-kind-repair-outside-late = una reparación externa se retrasa
alert-kind-daily-digest = el resumen diario
alert-kind-report-received = se recibió un aviso
alert-kind-timer-closed = se cerró un cronómetro
alert-kind-part-arrived = llegó un repuesto
alert-kind-webhook-switched-off = se desactivó un webhook
alert-kind-audit-trail-signed = se firmó el registro de auditoría
wanted-required = obligatoria
wanted-unless-switched-off = por defecto sí
wanted-only-if-switched-on = por defecto no
alert-state-told = informado
alert-state-not-acknowledged = sin acuse de recibo
alert-state-not-delivered = sin entregar

trail-act-alert-acknowledged = acuse de recibo
trail-act-next-in-line-told = avisado el siguiente
trail-act-alert-sent-again = alerta enviada otra vez
trail-act-own-alerts-chosen = alertas propias elegidas
trail-act-alerts-required = alertas obligatorias fijadas
trail-act-next-in-line-set = orden de las alertas fijado
trail-act-daily-digest-set = resumen diario fijado
trail-state-seen = visto

mail-subject-not-acknowledged = { $unit } está fuera de servicio y nadie ha acusado recibo
mail-subject-received = { $unit }: se recibió su aviso: { $what }
mail-subject-digest = { $yard }, resumen diario: { $count ->
    [0] ninguna máquina fuera de servicio
    [one] { $count } máquina fuera de servicio
   *[other] { $count } máquinas fuera de servicio
 }
mail-subject-webhook = Ya no se envía nada a { $host }
mail-nobody-saw = Nadie ha dicho que lo haya visto.
mail-see-to-it = Compruebe que la máquina está parada y etiquetada. Después diga que lo ha visto.
mail-received = Se recibió su aviso sobre { $unit }.
mail-good-until = Plazo hasta
mail-you-hear = Le escribiremos cuando se decida algo más y cuando esté arreglado.
mail-digest = { $yard }: { $when }
mail-digest-grounded = Fuera de servicio: { $count }
mail-digest-watched = En vigilancia: { $count }
mail-digest-likely = Probablemente de vuelta
mail-digest-cost = Costo hasta ahora
mail-digest-unseen = Nadie ha acusado recibo.
mail-digest-undelivered = { $count ->
    [one] No se pudo entregar { $count } alerta. En «Envíos» se dice por qué.
   *[other] No se pudieron entregar { $count } alertas. En «Envíos» se dice por qué.
 }
mail-webhook-off = A { $host } no ha llegado nada desde { $when }. Se desactivó.
mail-webhook-answer = Su última respuesta: { $answer }
mail-webhook-do = Corríjalo y vuelva a activarlo.
mail-subject-head = Registro de auditoría: cabeza firmada { $number }
mail-head = Cabeza firmada { $number } del registro de auditoría
mail-head-keep = Guarde este correo. Con él, cualquiera puede comprobar más tarde que no se cortó ni reescribió nada anterior.
mail-acknowledge = Lo he visto y me ocupo

ack-by-claiming = al tomar la orden de trabajo
ack-by-link = por el enlace del correo
ack-on-page = en su página
ack-nobody-in-time = nadie había acusado recibo a tiempo
ack-not-asked = Esta alerta no pide acuse de recibo.
ack-already = Ya se acusó recibo.
ack-title = ¿Lo ha visto?
ack-for = Esto es para { $name }.
ack-why = Por qué
ack-stopped = Detenida por { $name }, { $when }.
ack-means = Con esto dice que lo sabe y que se ocupa de que la máquina se quede donde está.
ack-do = Lo he visto
ack-done = Acuse de recibo de { $name }, { $when }.
ack-over = Ya no hay ninguna retención abierta sobre { $unit }.
ack-machine = Ver { $unit }
ack-state = Visto
ack-nobody-yet = por nadie todavía
ack-by = por { $name }, { $when }

hearing-trail-on = { $kind }: sí
hearing-trail-off = { $kind }: no
hearing-trail-rule = { $kind } ({ $role }): { $wanted }
hearing-trail-step = { $who } a los { $minutes } min
hearing-nobody-left = Entonces nadie se enteraría, de todas las máquinas de { $yard }, de que «{ $kind }». Alguien debe enterarse: procure antes que otra persona lo reciba.
hearing-quiet-same = Ponga un comienzo y un final distintos para las horas de silencio, o deje los dos vacíos.
hearing-wait = Indique minutos enteros, de { $least } a { $most }.
hearing-not-of-this-yard = Elija a alguien de este patio.
hearing-give-clock = Indique una hora del día, como 22:00.
hearing-both = Indique los dos o deje los dos vacíos.

my-alerts-title = Sus alertas
my-alerts-link-about = Sobre qué recibe correo y cuándo quiere que no se le moleste.
my-alerts-back = Volver a sus datos
my-alerts-quiet = Horas de silencio
my-alerts-quiet-about = Lo que puede esperar se envía cuando terminan. Que una máquina está fuera de servicio no espera nunca.
my-alerts-from = Desde
my-alerts-to = Hasta
my-alerts-clock-hint = Según el reloj del patio, como 22:00. Vacío: ninguna.
my-alerts-required = el propietario lo exige
my-alerts-kinds = Recibe una alerta cuando
my-alerts-classes = Solo de estas clases
my-alerts-classes-about = Ninguna elegida: de todas. Lo que exige el propietario lo recibe de todas.
my-alerts-no-yards = Todavía no hay ningún patio del que recibir alertas.
my-alerts-save = Guardar

yard-alerts-title = Alertas de { $yard }
yard-alerts-link = Alertas de { $yard }
yard-alerts-back = Volver a los patios
yard-alerts-who = Quién recibe qué
yard-alerts-who-about = Obligatoria: la reciben todos los que tienen esa función. Si no, cada persona elige. Siempre hay alguien que se entera de que una máquina está fuera de servicio.
yard-alerts-kind = Alerta
yard-alerts-of-role = { $kind } ({ $role })
yard-alerts-which = Elija una de las opciones.
yard-alerts-person = Persona
yard-alerts-save-rules = Guardar quién recibe qué
yard-alerts-chain = Cuando nadie acusa recibo
yard-alerts-chain-about = A quién se avisa después y cuántos minutos más tarde que al anterior. Sin nadie aquí, se avisa a los propietarios a los 30 minutos.
yard-alerts-step = Número { $step }
yard-alerts-nobody = nadie
yard-alerts-minutes = Minutos después
yard-alerts-save-chain = Guardar el orden
yard-alerts-digest = Resumen diario
yard-alerts-digest-about = Lo que está fuera de servicio y lo que está en vigilancia, en un correo al día.
yard-alerts-hour = Se envía a las
yard-alerts-hour-hint = Según el reloj del patio, como 06:00. Vacío: sin resumen.
yard-alerts-save-digest = Guardar la hora
