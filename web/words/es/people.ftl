### Personas: quién trabaja aquí, en qué funciones y patios.

people-back-set-up = Volver a los ajustes
people-title = Personas
people-add = Añadir una persona
people-count = { $count ->
    [one] { $count } persona
   *[other] { $count } personas
 }
people-name = Nombre
people-link = Enlace
people-mail = Correo electrónico
people-roles = Funciones
people-yards = Patios
people-rate = Tarifa por hora
people-state = Estado
people-link-once = Usted recibe un enlace que funciona una vez. Con él, la persona elige una contraseña.
people-add-this = Añadir esta persona
people-back = Volver a las personas
people-change-at-once = Un cambio vale de inmediato.
people-save = Guardar
people-sign-in-again = Entrar de nuevo
people-new-link = Para una contraseña nueva u olvidada: un enlace que funciona una vez, durante siete días. La contraseña nueva cierra todo lo que se abrió con la anterior y anula todos los PIN.
people-make-link = Crear un enlace de un solo uso
people-let-back = Volver a dejar entrar
people-disable = Desactivar
people-let-in-question = ¿Volver a dejar entrar a { $name }?
people-let-in = Dejar entrar a { $name }
people-disable-question = ¿Desactivar a { $name }?
people-disable-means = Todas sus sesiones terminan de inmediato. Lo que hizo { $name } queda en el registro.
people-disable-name = Desactivar a { $name }
people-mail-hint = Entra con él, y aquí llegan las alertas.
people-owner-sees = Un propietario ve todos los patios.
people-rate-hint = Para la mano de obra en las órdenes de trabajo.
people-link-for = Enlace para { $name }
people-shown-once = Solo se muestra esta vez.
people-hand-over = Entréguelo usted: quien lo abre primero elige la contraseña. Funciona siete días.
people-all-yards = todos
people-disabled = desactivada
people-invited = invitada
people-active = activa
people-is-disabled = Esta persona está desactivada.
people-is-invited = Esta persona está invitada. Todavía no ha elegido contraseña.
people-is-active = Esta persona está activa.
people-rate-in = Tarifa por hora, { $currency }
people-refuse-rate = Dé un importe, por ejemplo 42,50, o déjelo vacío.
