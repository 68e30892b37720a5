### Por qué no se hizo algo, y cómo remediarlo.

pin-four-to-eight = Elija de 4 a 8 cifras, nada más.
pin-not-all-the-same = Elija cifras que no sean todas iguales.
pin-no-run = Elija cifras que no vayan seguidas, como 1234 o 4321.

## Quién puede, y qué hay

refusal-takes-a-role = Para { $act } hace falta una de estas funciones: { $roles }.
refusal-password-again = Usted dio su contraseña hace más de un cuarto de hora. Para { $act } hace falta otra vez.
refusal-password-first = Usted entró con su PIN. Para { $act } hace falta su contraseña: inicie sesión con ella primero.
refusal-no-such-class = Ninguna máquina de sus patios es de esta clase.
refusal-no-such-page = No existe esa página. La última que se lee es la { $last }.
refusal-no-such-place = La lista no tiene el lugar desde el que debía seguir. Empiece de nuevo.
refusal-key-of-another = Con esta Idempotency-Key ya se envió otra cosa. Use una clave nueva para lo nuevo.
refusal-key-under-way = Lo mismo está en curso con esta Idempotency-Key, o se interrumpió. Mire si se hizo antes de enviarlo con otra clave.
refusal-key-shown-once = Esto ya se hizo, con la misma Idempotency-Key. La respuesta llevaba un secreto, que se muestra una sola vez.
refusal-not-found = No se encuentra { $thing }, o no está en uno de sus patios.
refusal-too-soon = Demasiados intentos equivocados. Espere { $seconds ->
    [one] un segundo
   *[other] { $seconds } segundos
} y vuelva a intentarlo.
refusal-give = Indique { $what }.
refusal-shorten = Acorte { $what } a { $most } caracteres.
refusal-control-characters = Hay caracteres de control en { $what }: quítelos.

## Lo que se le pide a alguien

what-unit-number = un número de unidad
what-it-waits-for = qué se espera
what-reason-for-cancelling = un motivo para anularla

## Máquinas y repuestos

machine-unit-number-empty = Un número de unidad necesita al menos una letra o una cifra.
store-quantity = Indique una cantidad mayor que cero, con tres decimales como mucho, por ejemplo 2 o 0,35.
store-worth-nothing = Una entrada no puede valer menos que nada.
store-only-to-issue = Solo se puede entregar { $most } a esta orden de trabajo; lo demás está reservado para otras o no está.
store-only-was-issued = A esta orden de trabajo solo se entregó { $most }; no puede volver más.

## Órdenes de trabajo

order-somebody-has-it = { $mechanic } tiene esta orden de trabajo.
order-claim-first = Primero tome la orden de trabajo.
order-claim-other-first = Primero tome la orden de trabajo { $number }: solo la puede unir quien la tiene.
order-work-with-the-skilled = { $lacking } Puede ayudar mientras la orden la tenga alguien capacitado.
order-has-ended = La orden de trabajo está { $state }.
order-not-handed-back = Estado de la orden de trabajo: { $state }. Ahora no se puede devolver a la cola.
order-not-started = Estado de la orden de trabajo: { $state }. Ahora no se puede empezar.
order-not-to-waiting = Estado de la orden de trabajo: { $state }. Ahora no se puede poner en espera.
order-not-finished = Estado de la orden de trabajo: { $state }. Ahora no se puede terminar.
order-still-waits = La orden de trabajo espera { $what }. Empiece de nuevo el trabajo antes de terminarla.
order-work-not-done = El trabajo aún no está hecho: primero lo marca así el mecánico.

## Devolución al servicio

release-nothing-done = No se devuelve al servicio: no consta nada hecho sobre «{ $what }».
release-retest-failed = No se devuelve al servicio: la nueva comprobación de «{ $what }» falló.
release-not-retested = No se devuelve al servicio: «{ $what }» no se ha vuelto a comprobar desde que se trabajó en ello.
release-by-another = «{ $what }» es un trabajo en este sistema: { $system }. Otra persona, no quien lo hizo, debe devolver la máquina al servicio.

## Defectos

defect-say-what-was-done = Diga qué se hizo con el defecto antes de cerrarlo.
defect-nothing-to-lower = El defecto solo está en vigilancia; no hay nada que bajar.
defect-decided-finally = Lo decidió una regla definitiva. Sigue fuera de servicio hasta que se repare.
defect-go-on-to-retest = Estado del defecto: { $state }. Siga con su nueva comprobación y la devolución al servicio.
defect-closed-for-good = El defecto está cerrado. Comunique lo que ve como uno nuevo; quedará ligado a este.

## Lo que se le pide a alguien, en el taller

what-bin = la ubicación
what-cause = la causa
what-class = una clase
what-class-such-as = una clase, por ejemplo vehículo utilitario
what-description = la descripción
what-mail-address = una dirección de correo
what-name = un nombre
what-note = la nota
what-part-number = un número de repuesto
what-part-unit = una unidad, por ejemplo pieza o L
what-reason = un motivo
what-reason-for-hold = un motivo de la retención
what-reason-for-lifting = un motivo para levantar la retención
what-remedy = el remedio
what-serial = el número de serie
what-title = un título
what-tried = una descripción de lo que se probó
what-is-wrong = una descripción de lo que está mal
what-yard-name = un nombre para el patio

## Personas, PIN y contraseñas

person-a-role = Elija al menos una función.
person-no-such-yard = Elija patios que existan.
person-a-yard = Elija al menos un patio.
person-address-taken = Ya hay una persona con esta dirección de correo.
person-link-used-up = Este enlace ya se usó o ha caducado. Pida uno nuevo.
person-mail-address = Indique una dirección de correo, por ejemplo nombre@example.org.
person-not-your-own-role = No puede quitarse a sí mismo la función de propietario. Otro propietario sí puede.
person-not-yourself = No puede desactivarse a sí mismo.
person-rate = Una tarifa no puede ser menor que cero.
password-give = Escriba su contraseña.
password-length = Elija una contraseña de 10 a 256 caracteres. Varias palabras sencillas están bien.
password-not-yours = Esta no es su contraseña. Pruebe otra vez.
pin-at-this-moment = En este momento se probó otro PIN. Espere un poco y pruebe otra vez.
pin-choose-who = Elija quién es usted.
pin-give = Escriba su PIN.
pin-gone = Cinco PIN equivocados: el PIN ya no vale en este dispositivo. Inicie sesión con su contraseña; después puede poner un PIN nuevo.
pin-none-here = En este dispositivo no vale ningún PIN. Inicie sesión con su contraseña y después ponga un PIN aquí.
pin-not-of-this-person = Esta persona no tiene PIN en este dispositivo. Inicie sesión con la contraseña.
pin-not-the-same = Los dos PIN no son iguales. Escriba los dos otra vez.
pin-too-soon = Demasiado pronto tras un PIN equivocado. Espere { $seconds } segundos y pruebe otra vez.
pin-wrong = { $left ->
    [one] Ese no es el PIN. Espere { $wait } segundos antes de probar otra vez. Con uno más equivocado deja de valer aquí.
   *[other] Ese no es el PIN. Espere { $wait } segundos antes de probar otra vez. Con { $left } más equivocados deja de valer aquí.
}
sign-in-again = Inicie sesión otra vez.
sign-in-do-not-fit = La dirección y la contraseña no corresponden.

## Patios, máquinas y retenciones

yard-height = Indique la altura en metros, de { $least } a { $most }.
yard-name-taken = Ya hay un patio con este nombre.
yard-need = Indique un número de 0 a 100 000.
yard-zone = Indique una zona horaria por su nombre IANA, por ejemplo Europe/Madrid.
machine-hours-below-nothing = Un horómetro no marca menos que cero.
machine-number-taken = Ya hay una máquina con este número de unidad.
machine-retired = La máquina está retirada.
machine-retired-already = La máquina ya está retirada.
machine-retired-take-another = La máquina está retirada. Tome otra.
hold-id-taken = Ya se puso otra retención con este identificador.
hold-instruction = No use la máquina hasta que se levante la retención.
hold-lifted-already = La retención ya está levantada.
hold-of-a-defect = Esta retención viene de un defecto. Termina cuando el defecto se repara, se vuelve a comprobar y la máquina se devuelve al servicio.

## Trabajo, mano de obra y repuestos

order-no-open-defect = La máquina no tiene ningún defecto abierto en que trabajar.
order-defects-went-on = Sus defectos pasaron a la orden de trabajo { $number }.
order-takes-no-parts = Estado de la orden de trabajo: { $state }. No admite repuestos.
order-claim-for-parts = Tome la orden de trabajo antes de tomar repuestos para ella.
labour-runs-elsewhere = Su tiempo corre en la orden de trabajo { $number }. Primero párelo allí.
labour-ends-before-it-starts = El final debe ser posterior al comienzo.
labour-not-yet = La mano de obra no se anota antes de hacerla. Indique horas hasta ahora.
labour-too-long = Son más de { $most } horas. Anote cada turno por separado.
labour-overlaps = Se solapa con tiempo que ya tiene en la orden de trabajo { $number }. Las anotaciones de una persona no se solapan.
part-number-taken = Ya hay un repuesto { $number }.
part-form-sent-before = Este formulario ya se envió antes con otras cifras. Mire la página otra vez.
work-say-what-was-done = Diga qué se hizo con «{ $what }».
work-give-the-cause = Indique la causa de «{ $what }», o márquelo como sin fallo encontrado.
work-give-the-remedy = Indique el remedio de «{ $what }», o márquelo como sin fallo encontrado.
work-not-of-this-order = Este defecto no pertenece a la orden de trabajo.

## Listas de revisión

checklist-a-class = Nombre al menos una clase de máquinas.
checklist-fault-at = Línea { $line }, columna { $column }: { $fault }
checklist-none-for-class = Todavía no hay lista de revisión para la clase { $class }. Un supervisor puede subir una.
checklist-retired = Esta lista de revisión está retirada, así que no se hace ninguna revisión nueva con ella. Empiece la revisión otra vez desde la página de la máquina.
checklist-title-for-class = «{ $title }» para { $class }
checklist-title-taken = Ya hay una lista de revisión "{ $name }". Elija otro título.
checklist-title-too-long = Acorte el título a unas pocas palabras sencillas.
checklist-too-long = La lista de revisión es demasiado larga. Quite algo primero.
checklist-version-not-in-use = Esta versión no está en uso. Retire la versión que sí lo está.
draft-fault-of = { $part }: { $fault }
draft-mend-first = Un borrador se puede probar cuando no tiene nada mal. Primero corrija { $part }.
draft-newer-version = La versión { $version } se hizo después de que usted empezara. Compare su borrador con ella y guárdelo si el suyo debe ocupar su lugar.
draft-somebody-elses = Este borrador es de otra persona. Empiece uno propio a partir de la versión en uso.

## Revisiones, avisos, gravedades y nuevas comprobaciones

check-id-taken = Ya se registró otra revisión con este identificador. No se ha cambiado.
check-no-checklist-for = «{ $title }» no es una lista de revisión para la clase { $class }.
report-id-taken = Ya se comunicó otro defecto con este identificador.
retest-after-work-done = La nueva comprobación se hace después de marcar el trabajo como hecho.
retest-is-it-gone = Diga si el fallo ha desaparecido.
severity-defect-closed = El defecto está cerrado. Comunique lo que ve como uno nuevo.
severity-good-until = Indique un plazo posterior a ahora y dentro de { $most } días. Una vigilancia sin fin no es vigilancia.
severity-open-an-order = Primero abra una orden de trabajo para el defecto.
severity-out-of-service-already = El defecto ya está fuera de servicio.
retest-air-now = Falló con el aire a { $then }. Indique la temperatura del aire ahora.
retest-every-item-ok = Hay que responder que está bien en cada punto que falló.
retest-failed-because = La nueva comprobación falló: { $why }

## Lo que queda registrado de un defecto

checklist-and-version = { $checklist } versión { $version }
raise-with-version = { $why } Lista de revisión { $rules }.
defect-use-and-watch = Puede usar la máquina. Vigile el defecto, y pare si empeora.
report-stop = No use la máquina. Estaciónela donde no estorbe, ponga la etiqueta y quite la llave.
severity-lowered-by = La bajó { $who }: { $reason } (regla: bajada por un supervisor).
severity-lowered-note = Gravedad de «{ $what }» bajada: { $reason }
severity-raised-by = La subió { $who }: { $reason } (regla: subida por una persona).
severity-raised-short = { $what } ({ $reason })
severity-raised-why = { $what }. { $why }
severity-stop = No use la máquina. Ponga la etiqueta y avise al supervisor.
watch-date-passed = Venció su plazo sin una devolución al servicio. { $why }
watch-hours-passed = Pasaron las horas de motor de su plazo ({ $end } h, ahora { $at } h) sin una devolución al servicio. { $why }
watch-is-over = No use la máquina. El tiempo para vigilar este defecto se acabó.
watch-passed-short = { $what } (plazo vencido)

## Lo que una revisión dice de un defecto en vigilancia, y qué sigue

watched-found-again = Esta revisión lo encontró otra vez, así que se da por presente.
watched-sighting-gone = Ya no está.
watched-keeps-out-of-service = Mantiene la máquina fuera de servicio.
watched-not-of-this-machine = Este defecto no es de la máquina. Pida otra vez su lista de revisión.
watched-out-of-service-now = Fuera de servicio desde ahora.
watched-released-and-worse = Se devolvió al servicio mientras usted hacía la revisión: comunicado de nuevo, fuera de servicio.
watched-released-meanwhile = Se devolvió al servicio mientras usted hacía la revisión.
watched-sighting-same = Igual.
watched-seen-gone = Ya no está: { $note }
watched-seen-same = Igual: { $note }
watched-seen-worse = Peor: { $note }
watched-stop = No use la máquina. Estaciónela, quite la llave, no deje que otros la usen y avise al supervisor.
watched-until-a-mechanic-looked = Sigue abierto hasta que lo mire un mecánico.
watched-watched-on = Se sigue vigilando.
watched-worse-says = Peor, dice { $who }: { $note } (regla: dicen que está peor).
