### Lo que se dice de un formulario que no se aceptó.

form-changed = Otra persona cambió esto mientras usted lo miraba. Mírelo de nuevo y después envíelo otra vez.
form-too-large = El formulario es demasiado grande o no llegó completo.
form-not-whole = El formulario no llegó completo. Envíelo de nuevo.
form-not-whole-because = El formulario no llegó completo ({ $fault }). Envíelo de nuevo.
form-too-many-fields = El formulario tiene demasiados campos.
form-field-too-large = { $name } es demasiado grande. Envíe como máximo { $most } MB.
form-photos-too-large = Las fotos juntas son demasiado grandes. Envíe como máximo { $most } MB.

## Horas que se escriben a mano.

form-give-moment = Indique un día y una hora, por ejemplo 2026-11-25 07:30.
form-zone-unknown = No se conoce la zona horaria del patio.
form-clocks-back = El { $day } se atrasaron los relojes y las { $clock } se repitieron. Indique una hora fuera de esa hora.
form-clocks-forward = El { $day } se adelantaron los relojes y las { $clock } no existieron. Indique una hora fuera de esa hora.
form-give-day = Indique un día, por ejemplo 2026-11-27, o déjelo vacío.
form-no-such-day = Ese día no existe en la zona horaria del patio.
