### Una tableta, varias personas.

pin-page-title = PIN para este dispositivo
pin-page-what-it-is = Para una tableta que usan varias personas. Con un PIN se cambia rápido de persona, en este dispositivo y en ningún otro. Una devolución al servicio sigue pidiendo su contraseña.
pin-page-nobody = Nadie tiene un PIN aquí.
pin-page-people = Con PIN aquí: { $names }.
pin-page-set-another = Poner otro PIN
pin-page-set-yours = Poner su PIN
pin-page-digits = De 4 a 8 cifras. No todas iguales, ni seguidas como 1234.
pin-page-again = El mismo PIN otra vez
pin-page-password = Su contraseña
pin-page-password-hint = Para que nadie más ponga un PIN en su nombre.
pin-page-ends = Después de cinco PIN equivocados seguidos, su PIN deja de existir aquí y solo puede entrar con su contraseña. Una contraseña nueva también anula sus PIN. Quien entró con PIN queda fuera de la sesión a las 12 horas.
pin-page-set = Guardar el PIN
pin-page-take-off = Quitar su PIN
pin-page-take-mine-off = Quitar mi PIN de este dispositivo
pin-page-forget = Olvidar este dispositivo
pin-page-end-every = ¿Anular todos los PIN de este dispositivo?
pin-page-forget-when = Antes de vender, prestar o enviar la tableta. Después, todos inician sesión con la contraseña.
change-person-no-pin = Todavía no funciona ningún PIN en este dispositivo. Inicie sesión con su contraseña y después ponga un PIN.
change-person-nobody-else = Nadie más tiene un PIN en este dispositivo. Inicie sesión con su contraseña y después ponga uno.
change-person-nobody = Nadie tiene un PIN en este dispositivo. Inicie sesión con su contraseña y después ponga uno.
change-person-who = ¿Quién es usted?
change-person-go-on = Continuar
change-person-with-password = Con la contraseña
change-person-signs-out = Esto cierra la sesión de { $name }.
change-person-sign-in = Iniciar sesión con contraseña
change-person-set-pin = Poner un PIN en este dispositivo
