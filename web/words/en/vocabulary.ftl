### Words of closed vocabularies: one word each, the same everywhere.

role-operator = operator
role-mechanic = mechanic
role-supervisor = supervisor
role-owner = owner

## The state of a work order

order-word-queued = queued
order-word-claimed = claimed
order-word-in-work = in work
order-word-waiting = waiting
order-word-work-done = work done
order-word-closed = closed
order-word-cancelled = cancelled

waiting-for-parts = parts
waiting-for-outside-repair = outside repair
waiting-for-access = access
waiting-for-information = information

## The state of a defect

defect-state-monitored = monitored
defect-state-held = held
defect-state-repaired = repaired
defect-state-no-fault-found = no fault found
defect-state-closed = closed

## Lines of the store's ledger

movement-kind-receipt = receipt
movement-kind-issue = issue
movement-kind-return = return
movement-kind-adjustment = adjustment


## The systems of a machine

system-brakes = brakes
system-steering = steering
system-restraint = restraint
system-fuel = fuel
system-engine = engine
system-cooling = cooling
system-transmission = transmission
system-controls = controls
system-suspension = suspension
system-tyres-and-wheels = tyres and wheels
system-lights-and-signals = lights and signals
system-electrical = electrical
system-hydraulics = hydraulics
system-body-and-frame = body and frame
system-coupling = coupling
system-general = general

## What was looked for in vain

thing-alert = alert
thing-check = check
thing-checklist = checklist
thing-defect = defect
thing-device = device
thing-draft = draft
thing-hold = hold
thing-item-of-the-check = item of the check
thing-machine = machine
thing-part = part
thing-part-of-the-draft = part of the draft
thing-passkey = passkey
thing-person = person
thing-photo = photo
thing-sign-in = sign-in
thing-work-order = work order
thing-yard = yard

## What somebody may do, as it follows "to"

act-see-machines = see machines
act-submit-check = submit a check
act-report-defect = report a defect
act-place-hold = place a hold
act-lift-own-hold = lift a hold you placed
act-lift-others-hold = lift a hold that somebody else placed
act-raise-severity = raise a severity
act-lower-severity = lower a severity
act-see-queue = see the mechanic queue
act-claim-work-order = claim a work order
act-work-on-order = work on a work order
act-cancel-work-order = cancel a work order
act-retest = retest a failed item
act-release = release a machine
act-see-store = see the store
act-receive-parts = receive parts
act-see-board = see the yard board
act-see-outbox = see the outbox
act-see-audit = see the audit trail
act-see-careless = see which checks look careless
act-see-numbers = see the numbers
act-set-up-machines = set up machines and yards
act-set-up-people = set up people
act-set-up-checklists = set up checklists
act-set-up-devices = look after shared devices
act-take-everything-out = take everything out
act-set-retention = set how long records are kept
act-sign-trail = sign the audit trail and choose who gets it

movement-kind-transfer = transfer
thing-absence = absence

## What a grounded machine's time goes on.

phase-until-it-was-known = until it was known
phase-without-a-work-order = without a work order
phase-waiting-for-a-mechanic = waiting for a mechanic
phase-waiting-for-parts = waiting for parts
phase-repair-outside = repair outside
phase-waiting-for-access = waiting for access
phase-waiting-for-information = waiting for information
phase-work = work
phase-waiting-for-release = waiting for release

## The classes of the shipped checklists, as they are shown

class-utility-vehicle = utility vehicle
class-quad = quad
class-compact-tractor = compact tractor
class-tractor = tractor
class-tracked-carrier = tracked carrier
class-trailer = trailer
class-generator = generator
class-pump-set = pump set
