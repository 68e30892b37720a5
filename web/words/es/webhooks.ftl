### Webhooks: otros programas a los que se avisa.

webhook-title = Webhooks (alertas a programas)
webhook-about = Se puede avisar a otros programas de lo que pasa aquí, cada uno en su dirección. Lo que se envía va firmado según la especificación Standard Webhooks, versión 1.0.
webhook-link-about = Avise a otros programas de lo que pasa aquí.
webhook-none = Todavía no se avisa a ningún programa. Añada abajo su dirección.
webhook-address = Dirección
webhook-address-hint = Completa, como https://hooks.example.org/yard.
webhook-public-only = No se envía a direcciones de una red privada. Los ajustes del servidor pueden permitirlo.
webhook-for = Para qué es
webhook-state = Estado
webhook-on = activo
webhook-off = desactivado
webhook-failing = activo, pero no acepta nada
webhook-off-because = Su última respuesta: { $answer }
webhook-every-yard = todos los patios
webhook-kinds = Se le avisa cuando
webhook-kinds-hint = Ninguno elegido: de todos estos.
webhook-add = Añadir una dirección
webhook-add-this = Añadir esta dirección
webhook-one = Un webhook
webhook-back = Volver a los webhooks
webhook-secret = Secreto
webhook-secret-once = Cópielo ahora en el otro programa: no se vuelve a mostrar.
webhook-secret-use = Con él, el otro programa comprueba que un mensaje viene de aquí y no ha cambiado.
webhook-secret-kept = Ya lo he copiado
webhook-both-until = El anterior también firma, hasta { $when }.
webhook-try = Enviar un mensaje de prueba
webhook-switch-on = Activarlo
webhook-switch-off = Desactivarlo
webhook-rotate = Crear un secreto nuevo
webhook-rotate-means = El que tiene firma junto al nuevo durante 24 horas, para que entretanto no se pierda nada.
webhook-rotate-do = Crear un secreto nuevo
webhook-remove = Quitarlo
webhook-remove-means = Ya no se envía nada a esa dirección, tampoco lo que aún espera.
webhook-remove-do = Quitar esta dirección
webhook-sent = Lo enviado
webhook-nothing-yet = Todavía no se ha enviado nada. Un mensaje de prueba muestra si llega.
webhook-newest = { $count ->
    [one] { $count } mensaje, primero el más nuevo
   *[other] { $count } mensajes, primero los más nuevos
 }
webhook-message = Mensaje
what-webhook-address = la dirección
what-webhook-for = para qué es
webhook-address-needed = Indique la dirección completa, que empiece por https://, sin usuario.
trail-act-webhook-added = webhook añadido
trail-act-webhook-secret-changed = secreto de webhook cambiado
trail-act-webhook-switched-on-or-off = webhook activado o desactivado
trail-act-webhook-removed = webhook quitado
trail-subject-webhook = webhook hacia
thing-webhook = webhook
