### Palabras de vocabularios cerrados: una palabra para cada cosa, la misma en todas partes.

role-operator = operador
role-mechanic = mecánico
role-supervisor = supervisor
role-owner = propietario

## El estado de una orden de trabajo

order-word-queued = en cola
order-word-claimed = tomada
order-word-in-work = en trabajo
order-word-waiting = en espera
order-word-work-done = trabajo hecho
order-word-closed = cerrada
order-word-cancelled = anulada

waiting-for-parts = repuestos
waiting-for-outside-repair = reparación externa
waiting-for-access = acceso
waiting-for-information = información

## El estado de un defecto

defect-state-monitored = en vigilancia
defect-state-held = retenido
defect-state-repaired = reparado
defect-state-no-fault-found = sin fallo encontrado
defect-state-closed = cerrado

## Líneas del libro del almacén

movement-kind-receipt = entrada
movement-kind-issue = entrega
movement-kind-return = devolución
movement-kind-adjustment = ajuste


## Los sistemas de una máquina

system-brakes = frenos
system-steering = dirección
system-restraint = sujeción
system-fuel = combustible
system-engine = motor
system-cooling = refrigeración
system-transmission = transmisión
system-controls = mandos
system-suspension = suspensión
system-tyres-and-wheels = neumáticos y ruedas
system-lights-and-signals = luces y señales
system-electrical = sistema eléctrico
system-hydraulics = hidráulica
system-body-and-frame = carrocería y chasis
system-coupling = enganche
system-general = en general

## Lo que se buscó sin encontrarlo

thing-alert = esta alerta
thing-check = esta revisión
thing-checklist = esta lista de revisión
thing-defect = este defecto
thing-device = este dispositivo
thing-draft = este borrador
thing-hold = esta retención
thing-item-of-the-check = este punto de la revisión
thing-machine = esta máquina
thing-part = este repuesto
thing-part-of-the-draft = esta parte del borrador
thing-passkey = llave de acceso
thing-person = esta persona
thing-photo = esta foto
thing-sign-in = sesión
thing-work-order = esta orden de trabajo
thing-yard = este patio

## What somebody may do, as it follows "para"

act-see-machines = ver las máquinas
act-submit-check = enviar una revisión
act-report-defect = comunicar un defecto
act-place-hold = retener una máquina
act-lift-own-hold = levantar una retención que usted puso
act-lift-others-hold = levantar una retención que puso otra persona
act-raise-severity = subir una gravedad
act-lower-severity = bajar una gravedad
act-see-queue = ver la cola de los mecánicos
act-claim-work-order = tomar una orden de trabajo
act-work-on-order = trabajar en una orden de trabajo
act-cancel-work-order = anular una orden de trabajo
act-retest = repetir la comprobación de un punto que falló
act-release = devolver una máquina al servicio
act-see-store = ver el almacén
act-receive-parts = recibir repuestos
act-see-board = ver el tablero del patio
act-see-outbox = ver los envíos
act-see-audit = ver el registro de auditoría
act-see-careless = ver qué revisiones parecen hechas sin cuidado
act-see-numbers = ver las cifras
act-set-up-machines = configurar máquinas y patios
act-set-up-people = configurar personas
act-set-up-checklists = configurar listas de revisión
act-set-up-devices = cuidar los dispositivos compartidos
act-take-everything-out = sacar todo
act-set-retention = fijar cuánto se conservan los registros
act-sign-trail = firmar el registro de auditoría y elegir quién lo recibe

movement-kind-transfer = traslado
thing-absence = esta ausencia

## En qué se va el tiempo de una máquina fuera de servicio.

phase-until-it-was-known = hasta que se supo
phase-without-a-work-order = sin orden de trabajo
phase-waiting-for-a-mechanic = espera mecánico
phase-waiting-for-parts = espera repuestos
phase-repair-outside = reparación fuera
phase-waiting-for-access = espera acceso
phase-waiting-for-information = espera información
phase-work = trabajo
phase-waiting-for-release = espera devolución al servicio

## Las clases de las listas de revisión incluidas, como se muestran

class-utility-vehicle = vehículo utilitario
class-quad = cuatriciclo
class-compact-tractor = tractor compacto
class-tractor = tractor
class-tracked-carrier = transportador de orugas
class-trailer = remolque
class-generator = generador
class-pump-set = grupo de bombeo
