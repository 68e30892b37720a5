### El marco de cada página.

frame-yard-board = Tablero del patio
frame-machines = Máquinas
frame-my-reports = Mis avisos
frame-on-this-phone = En este teléfono
frame-queue = Cola
frame-my-time = Mi tiempo
frame-store = Almacén
frame-outbox = Bandeja de salida
frame-audit = Auditoría
frame-set-up = Configuración
frame-change-person = Cambiar de persona
frame-pages = Páginas
frame-menu = Menú
frame-close-menu = Cerrar el menú
frame-sign-out = Cerrar sesión
frame-skip = Ir a la página
frame-foot = Chock guarda el registro. No aísla ninguna energía: bloquee y etiquete según su procedimiento.
frame-languages = Idiomas

## Se dice una vez después de un acto.

notice-signed-out = Ha cerrado la sesión.
notice-pin-set = Su PIN ya funciona en este dispositivo, y en ningún otro lugar.
notice-pin-ended = Su PIN se ha quitado de este dispositivo.
notice-device-forgotten = Este dispositivo se ha olvidado. Aquí ya no funciona ningún PIN.
notice-held = La máquina está fuera de servicio. Se está avisando a todos los que deben saberlo. Coloque la etiqueta.
notice-lifted = La retención se ha levantado.
notice-lowered = El defecto queda ahora en vigilancia y su retención se ha levantado. Se avisa a quien lo comunicó.
notice-reported = Su aviso se ha recibido.
notice-claimed = La orden de trabajo es suya.
notice-handed-back = La orden de trabajo ha vuelto a la cola.
notice-started = Su tiempo está corriendo.
notice-stopped = Su tiempo se ha detenido.
notice-entered = El tiempo se ha anotado.
notice-reserved = Los repuestos están reservados.
notice-issued = Los repuestos se han entregado.
notice-returned = Los repuestos han vuelto al almacén.
notice-waiting = La orden de trabajo espera. La máquina queda como está.
notice-done = El trabajo consta como hecho. Ahora, la comprobación de nuevo.
notice-retest-passed = La comprobación ha salido bien.
notice-retest-failed = La comprobación ha fallado. El defecto vuelve al taller y la máquina sigue fuera de servicio.
notice-released = La máquina ha vuelto al servicio. Se está avisando a todos los que deben saberlo.
notice-released-still-held = La orden de trabajo está cerrada. Otra retención mantiene la máquina fuera de servicio.
notice-cancelled = La orden de trabajo está anulada. Sus defectos siguen abiertos y la máquina queda como está.
notice-saved = Guardado.
notice-kept = Guardado en el borrador.
notice-removed = Quitado del borrador.
notice-discarded = El borrador se ha descartado.
notice-version-saved = La versión nueva está guardada y se usa desde la próxima revisión.
notice-checklist-retired = La lista está retirada. No se hacen más revisiones con ella.
notice-watch-over = Guardado. Con estas horas de motor ha vencido el plazo para vigilar un defecto: la máquina está fuera de servicio.
notice-resent = El correo se enviará de nuevo.
notice-received = Los repuestos están en el almacén.
notice-reported-no-photo = Su aviso se ha recibido, pero la foto no se guardó: no es una imagen que se pueda leer aquí.
notice-lost-device-forgotten = El dispositivo se ha olvidado. En él no funciona ningún PIN y ya nadie tiene la sesión abierta.
notice-reported-photo-later = Su aviso se ha recibido, pero la foto no se guardó: el lugar donde se guardan las imágenes no responde ahora.
