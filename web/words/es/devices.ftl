### Lo que llegó tarde, y los dispositivos que usan varias personas.


devices-title = Dispositivos compartidos
devices-about = Tabletas en las que se cambia de persona con un PIN. Si una se pierde, olvídela aquí: ya nadie entra con ella.
devices-link-about = Tabletas en las que se cambia de persona con un PIN. Olvide la que se haya perdido.
devices-none = Ningún dispositivo es de confianza para un PIN. Quien quiera usar uno pone allí su PIN, en «En este teléfono».
devices-nobody = Nadie tiene un PIN en él
devices-pins = PIN de { $names }
devices-this-one = (el que está usando)
devices-trusted = De confianza por { $by }, { $when }.
devices-used = Último PIN { $when }.
devices-unused = Todavía no se ha usado ningún PIN.
devices-signed-in = Con la sesión abierta ahora: { $names }.
devices-which = Olvidar el dispositivo de { $by }, de confianza desde { $when }
devices-sure = ¿Olvidar este dispositivo?
devices-follows = Todos sus PIN terminan y todas las sesiones abiertas en él se cierran de inmediato. Lo que se registró en él y no se envió sigue allí hasta que su persona entre con la contraseña.
devices-forget = Olvidar este dispositivo
devices-back = Volver a los ajustes
