### Páginas que dicen por qué algo no se pudo mostrar o aceptar.

error-sign-in = Inicie sesión con su contraseña
error-status = Estado { $status }.
error-back = Para seguir con lo que escribió, use el botón de volver de su navegador.
error-title-not-allowed = No permitido
error-title-not-found = No encontrado
error-title-not-done = No se hizo
error-title-not-taken = No se aceptó
error-title-not-now = Ahora no
error-title-went-wrong = Algo salió mal
error-changed = Otra persona cambió esto mientras usted lo miraba. Mírelo de nuevo y después decida.
error-unavailable = La base de datos no responde en este momento. No se cambió nada. Inténtelo de nuevo en un momento.
error-unsure = La base de datos se cortó justo al guardar esto. Puede que se haya hecho o que no: mire antes de volver a hacerlo.
error-full = El disco del servidor está lleno. No se cambió nada. Lo registrado se puede seguir leyendo. Avise a quien lleva el servidor para que haga sitio y vuelva a hacerlo.
error-on-the-server = Algo salió mal en el servidor. No se cambió nada. Ha quedado en el registro del servidor.
error-no-such-page = No hay ninguna página en esta dirección. Busque la máquina por su número de unidad.
error-picture-later = El lugar donde se guardan las imágenes no responde ahora. Inténtelo de nuevo en un momento.
