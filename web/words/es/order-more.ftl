### Lo que reúne la página de una orden de trabajo además de la orden.

order-earlier-of = Reparaciones anteriores: { $what }
order-fixed-before = Lo que lo arregló antes, en máquinas de esta clase
order-times = { $times ->
    [one] una vez
   *[other] { $times } veces
 }:
order-cause-then-remedy = { $cause } → { $remedy }
order-parts-before = Repuestos que llevó
order-times-used = { $times ->
    [one] en una reparación
   *[other] en { $times } reparaciones
 }, hasta { $quantity }
order-reserve-of = Reservar { $quantity } de { $part }
order-on-this-machine = En esta máquina
order-on-others = En otras máquinas de esta clase
order-notes = Notas
order-no-notes = Nadie ha dejado una nota todavía.
order-leave-a-note = Una nota para quien siga con el trabajo
order-leave-note = Dejar la nota
order-photos = Fotos del trabajo
order-photo-of-work = Foto { $number } del trabajo
order-add-photo = Añadir una foto
order-keep-photo = Añadir esta foto
order-choose-photo = Elija una foto.
order-photo-not-kept = No se pudo guardar la foto. Envíe un JPEG o PNG, o inténtelo más tarde.
order-split = ¿Dos trabajos en uno?
order-split-what = Un defecto puede pasar a su propia orden de trabajo, para otro mecánico. La máquina sigue como está.
order-split-which = Defecto
order-split-choose = Elija un defecto
order-split-off = Separarlo
order-choose-defect = Elija un defecto.
order-others = Otras órdenes de trabajo de esta máquina
order-other = Orden de trabajo { $number }, { $state }
order-merge-which = Orden de trabajo que se une
order-merge-what = Sus defectos pasan a esta, y ella termina. El tiempo, los repuestos y las facturas se quedan en ella.
order-merge = Unir
order-choose-order = Elija una orden de trabajo.
order-when-back = Cuándo vuelve
order-away-with = Está fuera, en { $vendor }.
order-outside = { $repairs ->
    [0] Enviar a reparar fuera
   *[other] Reparación externa
 }
