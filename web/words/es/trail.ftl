### El registro de auditoría.

trail-subject = { $kind } { $name }
trail-and-more = y { $more } más
trail-by-link = por enlace de un solo uso
trail-defects-went-on = sus defectos pasaron a otra
trail-for-pins = para PIN
trail-from-to = de { $from } a { $to }
trail-its-order-cancelled = se anuló su orden de trabajo
trail-new-checklist = una lista de revisión nueva
trail-nothing-changed = sin cambios
trail-order-cancelled = { $why } (defectos que siguen abiertos: { $stays })
trail-part-added = { $what }: añadido
trail-part-changed = { $what }: cambiado
trail-part-removed = { $what }: quitado
trail-pin-taken-off = lo quitó la propia persona
trail-pin-wrong = equivocado { $times } veces
trail-pins-ended = PIN terminados: { $names }
trail-repair-did-not-hold = la reparación no aguantó
trail-somebody-at-a-device = alguien en un dispositivo compartido
trail-used-while-held = el horómetro avanzó mientras la máquina estaba retenida
trail-version = versión { $version }

## Lo que se hizo

trail-act-check-submitted = revisión enviada
trail-act-defect-raised = defecto abierto
trail-act-defect-seen-again = defecto visto de nuevo
trail-act-defect-worse = defecto peor
trail-act-defect-said-to-be-the-same = dicen que el defecto sigue igual
trail-act-defect-said-to-be-worse = dicen que el defecto está peor
trail-act-defect-said-to-be-gone = dicen que el defecto ya no está
trail-act-defect-came-back = defecto que volvió
trail-act-defect-worked-on = defecto trabajado
trail-act-defect-back-to-work = defecto de nuevo al taller
trail-act-defect-moved = defecto trasladado
trail-act-defect-closed = defecto cerrado
trail-act-repair-did-not-hold = la reparación no aguantó
trail-act-good-until-passed = plazo vencido
trail-act-severity-raised = gravedad subida
trail-act-severity-lowered = gravedad bajada
trail-act-hold-placed = retención puesta
trail-act-hold-lifted = retención levantada
trail-act-holds-lifted = retenciones levantadas
trail-act-work-order-opened = orden de trabajo abierta
trail-act-work-order-claimed = orden de trabajo tomada
trail-act-work-order-handed-back = orden de trabajo devuelta a la cola
trail-act-work-order-waits = orden de trabajo en espera
trail-act-work-order-cancelled = orden de trabajo anulada
trail-act-work-order-back-to-work = orden de trabajo de nuevo al taller
trail-act-work-order-ended = orden de trabajo terminada
trail-act-work-started = trabajo empezado
trail-act-work-done = trabajo hecho
trail-act-labour-started = mano de obra empezada
trail-act-labour-stopped = mano de obra parada
trail-act-labour-entered = mano de obra anotada
trail-act-retest-passed = nueva comprobación superada
trail-act-retest-failed = nueva comprobación fallida
trail-act-released = devuelta al servicio
trail-act-hour-meter-read = horómetro leído
trail-act-used-while-out-of-service = usada estando fuera de servicio
trail-act-machine-added = máquina añadida
trail-act-machine-retired = máquina retirada
trail-act-yard-added = patio añadido
trail-act-one-person-yard = patio de una sola persona
trail-act-yard-s-height = altura del patio
trail-act-person-added = persona añadida
trail-act-person-invited = persona invitada
trail-act-person-changed = persona cambiada
trail-act-person-disabled-or-enabled = persona desactivada o activada
trail-act-password-set = contraseña puesta
trail-act-device-trusted = dispositivo de confianza
trail-act-device-forgotten = dispositivo olvidado
trail-act-pin-set = PIN puesto
trail-act-pin-ended = PIN terminado
trail-act-part-added = repuesto añadido
trail-act-part-expected = repuesto esperado
trail-act-part-reserved = repuesto reservado
trail-act-stock-moved = existencias movidas
trail-act-checklist-uploaded = lista de revisión subida
trail-act-checklist-saved = lista de revisión guardada
trail-act-checklist-retired = lista de revisión retirada
trail-act-checklist-draft-begun = borrador de lista empezado
trail-act-checklist-draft-discarded = borrador de lista descartado

## De qué clase es su objeto

trail-subject-check = revisión
trail-subject-checklist = lista de revisión
trail-subject-defect = defecto
trail-subject-device = dispositivo
trail-subject-hold = retención
trail-subject-machine = máquina
trail-subject-part = repuesto
trail-subject-person = persona
trail-subject-work-order = orden de trabajo
trail-subject-yard = patio

## Antes y después

trail-state-open = abierta
trail-state-lifted = levantada
trail-state-running = en marcha
trail-state-ended = terminada
trail-state-in-use = en uso
trail-state-retired = retirada
trail-state-draft = borrador
trail-state-invited = invitada
trail-state-active = activa
trail-state-disabled = desactivada
trail-state-one-time-link = enlace de un solo uso
trail-state-trusted = de confianza
trail-state-forgotten = olvidado
trail-state-set = puesto
trail-state-none = ninguno
trail-state-one-person = una persona
trail-state-more-people = más personas
trail-state-not-known = no se conoce
trail-state-no-date = sin fecha
trail-state-supervisors-told = supervisores avisados

trail-by-release = { $holds } por devolución al servicio
trail-lowered = { $reason }; plazo hasta { $until }
trail-released-by-repairer = devuelta al servicio por quien la reparó. { $note }
trail-arrived-late = registrada { $at }, llegó después
trail-earlier-check-arrived-late = una revisión registrada antes llegó tarde
trail-counts-from = { $reason }. Cuenta desde { $since }, cuando se registró.
trail-act-hold-counts-from-earlier = retención contada desde antes
