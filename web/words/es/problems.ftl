### Lo que responde la API cuando no hace lo que se le pidió.

problem-bad-token = El token de acceso no es válido. Inicie sesión otra vez, o cambie el token de renovación por uno nuevo.
problem-body-cut-short = El cuerpo no se pudo leer hasta el final.
problem-changed = Otra persona cambió esto en el mismo momento. Pídalo otra vez y después decida.
problem-give-object = Envíe un objeto con miembros con nombre, no una lista.
problem-give-member = Indique "{ $member }".
problem-if-match = If-Match lleva el ETag tal como se dio, entre comillas.
problem-no-such-address = En esta dirección no hay nada. Lo que hay está en /api/openapi.json.
problem-no-token = Envíe un token de acceso con la petición, en la cabecera Authorization como Bearer.
problem-not-json = El cuerpo no es JSON: { $error }.
problem-not-understood = Esto no se pudo entender: { $message }.
problem-not-utf-8 = El texto no es UTF-8. Guarde el archivo como UTF-8.
problem-on-the-server = Algo salió mal en el servidor. No se cambió nada. Ha quedado registrado.
problem-picture-cut-short = La imagen no se pudo leer hasta el final.
problem-picture-later = El lugar donde se guardan las imágenes no responde ahora. Aquello a lo que pertenece está registrado. Envíe la imagen de nuevo.
problem-query = Lo que va después de ? no se pudo entender: { $error }.
problem-query-name = Esta dirección no admite nada llamado «{ $name }» después del signo ?.
problem-key = Una Idempotency-Key tiene de 1 a { $most } caracteres.
problem-send-checklist-file = Envíe el archivo de la lista de revisión tal cual, con Content-Type: application/toml o text/plain.
problem-send-plain = Envíe el cuerpo tal cual, sin codificación de contenido como gzip.
problem-send-json = Envíe JSON, con Content-Type: application/json.
problem-send-import-file = Envíe una tabla como text/csv, o las horas de una flota como application/xml o application/json.
problem-send-picture = Envíe la imagen tal cual, con Content-Type: image/jpeg o image/png.
problem-session-over = Su sesión ha terminado. Inicie sesión otra vez; no se pierde nada de lo que guardó.
problem-somebody-else = Lo registró otra persona. Se envía cuando ella vuelva a iniciar sesión en este teléfono.
problem-stale = Ha cambiado desde que lo miró. Pídalo otra vez y después decida.
problem-too-large = El cuerpo es más grande de lo que se admite aquí: 256 KiB, o 16 MiB para una foto.
problem-unavailable = La base de datos no responde ahora mismo. No se cambió nada. Pruebe otra vez en un momento.
problem-unsure = La base de datos se cortó justo al guardar esto. Puede que se haya hecho o que no: mire antes de volver a enviarlo.
problem-no-text = Un texto contiene un carácter que no se puede guardar (NUL, U+0000). No se cambió nada. Quítelo.
problem-full = El disco del servidor está lleno. No se cambió nada. Lo registrado se puede seguir leyendo. Avise a quien lleva el servidor para que haga sitio y vuelva a hacerlo.
problem-uuid-7 = Dé como identificador un UUID de versión 7 (RFC 9562).
problem-wrong-method = Esta dirección admite { $methods }.
hours-say = Diga qué marca el horómetro.
person-rate-such-as = Indique cuánto cuesta una hora, por ejemplo 45,00.
photo-too-large = La imagen no se guardó: tiene más de { $most } megapíxeles.
photo-unknown-format = La imagen no se guardó: no es una imagen JPEG ni PNG.
photo-unreadable = La imagen no se guardó: no es una imagen JPEG o PNG que se pueda leer.

## Títulos, según las frases de RFC 9110

problem-title-bad-request = Petición incorrecta
problem-title-conflict = Conflicto
problem-title-forbidden = Prohibido
problem-title-internal-server-error = Error interno del servidor
problem-title-method-not-allowed = Método no permitido
problem-title-not-found = No encontrado
problem-title-content-too-large = Contenido demasiado grande
problem-title-precondition-failed = Condición previa no cumplida
problem-title-service-unavailable = Servicio no disponible
problem-title-insufficient-storage = Almacenamiento insuficiente
problem-title-unauthorized = No autorizado
problem-title-unprocessable-content = Contenido no procesable
problem-title-unsupported-media-type = Tipo de contenido no admitido
problem-title-too-many-requests = Demasiadas solicitudes

problem-another-site = Esto lo pidió otro sitio. Abra Chock y hágalo allí.
