### Lo que dicen los programas de las páginas. Conocen texto, lo que se rellena y una elección por número.

## La página de la revisión.

script-answered-of = { $done } de { $all } respondidos
script-all-answered = Todos respondidos
script-to-send = Ir a enviar
script-cannot-be-read = No se puede leer. Así: 14,5

## Anotar una revisión o un aviso.

script-say-load = Diga si la máquina va con carga o sin carga: algunos límites dependen de ello.
script-look-at-watched = { $what }: mírelo y diga igual, peor o ya no está.
script-say-what = Diga qué está mal: lo que vio, oyó, notó u olió.
script-answers-need = { $count ->
    [one] Hay una respuesta que revisar
   *[other] Hay { $count } respuestas que revisar
 }
script-answers-more = Y { $count } más: cada una está marcada abajo.
script-was-not-taken = No se aceptó.
script-phone-full = Este teléfono está lleno y no se puede llegar al servidor: no se ha guardado nada. Deje esta página abierta, libere espacio en el teléfono y envíe de nuevo. Si algo está mal en la máquina, coloque una etiqueta y avise ya al supervisor.
script-as-recorded = Como lo anotó { $when }.
script-as-recorded-no-photos = Como lo anotó { $when }. Hay que elegir otra vez sus fotos.

## Evaluado en el momento.

script-watched-worse = Está en vigilancia y ha empeorado.
script-watch-over = Ha vencido el plazo para vigilarlo.
script-do-not-use-machine = No use la máquina.

## En este teléfono.

script-at = a las { $time }
script-on-at = el { $day } a las { $time }
script-check-of = Revisión de { $unit }
script-report-on = Aviso sobre { $unit }
script-no-rules = Este teléfono no tiene reglas para evaluarla. Si algo no estaba en orden, no use la máquina: coloque una etiqueta y avise al supervisor.
script-until-decided = Hasta que se decida, trate la máquina como fuera de servicio: coloque una etiqueta y avise al supervisor.
script-recorded = Anotado { $when } por { $who }.
script-sign-out-of-service = Fuera de servicio: no usar
script-sign-monitored = Apta para el uso, vigile esto
script-sign-fit-for-use = Apta para el uso
script-alone-held = Nadie más puede ver esto todavía. Coloque una etiqueta, saque la llave y avise usted mismo al supervisor.
script-alone = Nadie más puede ver esto todavía. Es lo que sabe este teléfono: busque una etiqueta antes de arrancar.
script-received = Recibido
script-received-by-server = { $received } por el servidor { $when }.
script-photos-to-send = { $count ->
    [one] Queda una foto por enviar.
   *[other] Quedan { $count } fotos por enviar.
 }
script-photos-not-kept = No se guardaron porque no eran imágenes que se puedan leer: { $items }.
script-the-verdict = El veredicto
script-the-machine = La máquina
script-sending = Enviando…
script-not-taken = No se aceptó.
script-mend = Corregir y enviar de nuevo
script-saved = Guardado en este teléfono.
script-saved-signed-out = Guardado en este teléfono. Su sesión ha terminado.
script-only-they-send = Solo { $name } puede enviarlo: inicie sesión como { $name }.
script-sent-with-signal = Se envía en cuanto haya señal.
script-sign-in = Iniciar sesión
script-send-now = Enviar ahora
script-delete = Borrarlo
script-delete-check = ¿Borrar de este teléfono la revisión de { $unit }? Nadie la ha visto.
script-delete-report = ¿Borrar de este teléfono el aviso sobre { $unit }? Nadie lo ha visto.

## En cada página.

script-no-signal = Sin señal.
script-kept-page = Esta página es lo que este teléfono sabía { $when }. Busque una etiqueta en la máquina: puede que la hayan retenido después.
script-not-kept = La página que pidió no está en este teléfono. Se abre cuando haya señal.
script-unsent = { $count ->
    [one] Un registro está solo en este teléfono: nadie más puede verlo todavía.
   *[other] { $count } registros están solo en este teléfono: nadie más puede verlos todavía.
 }
script-all-sent = Todo lo de este teléfono está enviado.
script-sign-in-to-send = Inicie sesión de nuevo para enviar.
script-one-not-taken = Uno no se aceptó.
script-see-what = Ver cuáles
script-leave = { $count ->
    [one] Un registro está solo en este teléfono. Cada uno se envía cuando quien lo anotó inicia sesión aquí de nuevo. ¿{ $act } de todos modos?
   *[other] { $count } registros están solo en este teléfono. Cada uno se envía cuando quien lo anotó inicia sesión aquí de nuevo. ¿{ $act } de todos modos?
 }
script-sign-out = Cerrar sesión
script-no-sign-out = Sin señal: su sesión sigue abierta. Ciérrela cuando haya.

## Una página que se mantiene al día.

script-live = En directo · a las { $clock }
script-asked-again = A las { $clock }, se pregunta de nuevo cada 30 segundos
script-not-live = Sin conexión en directo: visto por última vez a las { $clock }
script-not-live-sign-in = Sin conexión en directo: visto por última vez a las { $clock }. Inicie sesión de nuevo
