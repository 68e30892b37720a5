### Iniciar sesión, y la primera visita.

sign-in-page-title = Iniciar sesión
sign-in-page-not = No ha iniciado sesión
sign-in-page-check-both = Revise ambos e inténtelo de nuevo.
sign-in-page-mail = Dirección de correo
sign-in-page-password = Contraseña
sign-in-page-by-pin = Con PIN
sign-in-page-for-pins = Para quien haya puesto un PIN en este dispositivo.
sign-in-page-forgotten = ¿Aún sin contraseña, o la olvidó? Un propietario de su empresa puede darle un enlace nuevo.
welcome-title = Bienvenida
welcome-set-up = Configurar Chock
welcome-first = Todavía no hay nadie aquí. Usted será el propietario: ve todos los patios e invita a los demás.
welcome-name = Le damos la bienvenida, { $name }
welcome-choose = Elija una contraseña. Con ella y con { $email } inicia sesión.
welcome-your-name = Su nombre
welcome-mail-hint = Con ella inicia sesión, y allí Chock le avisa de lo que pasa.
welcome-password-hint = De 10 a 256 caracteres. Varias palabras corrientes están bien.
welcome-again = La misma contraseña otra vez
welcome-go-in = Guardar la contraseña y entrar
welcome-not-the-same = Las dos contraseñas no son iguales. Escriba las dos de nuevo.
