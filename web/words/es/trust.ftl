### Dónde se tiene sesión abierta, la propia contraseña y el segundo paso para entrar.

sessions-title = Dónde tiene sesión abierta
sessions-about = Cada navegador y programa con sesión abierta en su nombre, y cada dispositivo en el que vale su PIN.
sessions-link = Ver sus sesiones abiertas
sessions-link-about = Cada navegador, programa y PIN. Termine lo que no sea suyo.
sessions-which = Sesiones abiertas
sessions-by-pin = { $program }, con PIN
sessions-api = { $program }, un programa que usa la API
sessions-device = Su PIN en el dispositivo que autorizó { $by }
sessions-unknown-program = Un programa que no dice su nombre
sessions-this-one = (esta)
sessions-network = Desde la red { $network }.
sessions-since = Abierta { $when }.
sessions-used = Último uso: { $when }.
sessions-pin-since = Puesto { $when }.
sessions-all-others = Todas menos esta
sessions-end = Terminar lo marcado
sessions-password-hint = Para que nadie más cierre sus sesiones.
sessions-not-yours = Si alguna no es suya, termínela y después cambie su contraseña.
sessions-only-this = No tiene ninguna otra sesión abierta.
sessions-choose = Marque lo que se debe terminar.
sign-in-kind-pages = páginas
sign-in-kind-pages-by-pin = páginas con PIN
sign-in-kind-api = API
sign-in-kind-pin-on-a-device = PIN en un dispositivo

password-title = Su contraseña
password-link = Cambiar su contraseña
password-link-about = Se cierran todas las demás sesiones abiertas con ella.
password-ends = Una contraseña nueva cierra sus demás sesiones y termina sus PIN.
password-present = La contraseña que tiene ahora
password-new = La contraseña nueva
password-again = La contraseña nueva otra vez
password-change = Cambiar la contraseña
password-common = Es una de las contraseñas que se prueban primero. Elija otra, por ejemplo varias palabras que no tengan nada que ver entre sí.
password-known-words = Está hecha con su nombre, su dirección o una palabra que cualquiera adivina. Elija palabras que no tengan que ver con usted ni con este sitio.

second-step-title = Segundo paso para entrar
second-step-about = Después de la contraseña, su teléfono muestra un código de seis cifras, nuevo cada medio minuto. Quien averigüe su contraseña no entra sin su teléfono.
second-step-link = Poner o cambiar el segundo paso
second-step-link-about = Un código de su teléfono después de la contraseña.
second-step-first = Su empresa lo pide. Póngalo ahora; hasta entonces no se abre nada más.
second-step-since = Está puesto desde { $when }.
second-step-codes-left = { $count ->
    [one] Queda un código de recuperación.
   *[other] Quedan { $count } códigos de recuperación.
 }
second-step-new-codes = Códigos de recuperación nuevos
second-step-new-codes-about = Los que tiene dejan de valer.
second-step-make-codes = Hacer códigos de recuperación nuevos
second-step-take-away = Quitar el segundo paso
second-step-take-away-about = Entonces basta la contraseña para que entre quien la sepa. Para un teléfono nuevo: quítelo y póngalo otra vez.
second-step-set-up = Ponerlo
second-step-need = Necesita en su teléfono un programa de códigos de un solo uso (TOTP). Funciona sin señal.
second-step-password-hint = Para que nadie más lo ponga en su nombre.
second-step-go-on = Seguir
second-step-scan = En el programa de su teléfono, añada una cuenta y lea este símbolo con la cámara.
second-step-then-code = Escriba el código que muestra entonces el programa.
second-step-symbol = Símbolo que lee el programa de su teléfono
second-step-by-hand = O escriba esta clave en él:
second-step-on-this-phone = El programa está en este teléfono: abrirlo
second-step-code = Código
second-step-code-hint = Seis cifras, como las muestra ahora el teléfono.
second-step-confirm = Activarlo
second-step-codes-title = Sus códigos de recuperación
second-step-codes-once = Solo se muestran esta vez. Anótelos o imprima esta página, y guárdela lejos del teléfono.
second-step-codes-about = Si pierde el teléfono, cada uno le deja entrar una vez en lugar de un código.
second-step-codes-kept = Los he guardado
second-step-end-others = Ver sus demás sesiones abiertas
second-step-sign-in = El código de su teléfono
second-step-sign-in-about = Su contraseña es correcta. Ahora, el código que muestra su teléfono.
second-step-or-recovery = Seis cifras, o uno de sus códigos de recuperación.
second-step-begin-anew = Empezar de nuevo
second-step-phone-lost = ¿Ha perdido el teléfono y los códigos? Un propietario de su empresa puede quitarle el segundo paso.
second-step-is-asked = Los supervisores y propietarios deben tener un segundo paso.
second-step-not-asked = Cualquiera puede tener un segundo paso. Nadie está obligado.
second-step-has = lo tiene
second-step-has-not = no lo tiene
second-step-asking-means = Los supervisores y propietarios que no lo tengan deberán ponerlo antes de que se abra nada más, también en los programas que usan la API.
second-step-ask = Pedirlo a supervisores y propietarios
second-step-ask-no-more = Dejar de pedirlo
second-step-link-owner = Un código del teléfono después de la contraseña: quién lo tiene y si supervisores y propietarios están obligados.
second-step-code-first = Su contraseña es correcta. También hace falta el código de su segundo paso.
second-step-set-up-first = Su empresa le pide un segundo paso para entrar. Póngalo en las páginas, bajo su nombre.
second-step-is-on = Su segundo paso ya está puesto. Quítelo primero.
second-step-is-off = No hay ningún segundo paso puesto.
second-step-begin-again = Empiece de nuevo: esta clave ya no espera ningún código.
second-step-yours-first = Ponga primero su propio segundo paso, para no quedarse fuera.
second-step-over = Ha tardado demasiado, o hubo demasiados códigos equivocados. Inicie sesión otra vez con su contraseña.
second-step-give = Escriba el código.
second-step-wrong = Este código no es correcto, o ya se usó. Espere al siguiente y escriba ese.
people-password-hint = Los derechos se dan con su contraseña.
people-second-step = Segundo paso
people-second-step-about = { $name } da un código del teléfono después de la contraseña. Si ha perdido el teléfono, quite aquí el paso: se cierran todas las sesiones de { $name } y se le avisa por correo. Asegúrese de que es { $name } quien lo pide.
people-second-step-remove = Quitar el segundo paso de { $name }
notice-password-changed = Su contraseña ha cambiado. Sus demás sesiones se cerraron.
notice-sign-ins-ended = Se ha terminado lo que marcó.
notice-second-step-removed = El segundo paso se ha quitado.
alert-kind-second-step-removed = se quitó un segundo paso
mail-subject-second-step = Se quitó su segundo paso para entrar
mail-second-step = { $by } quitó su segundo paso para entrar, { $when }. Se cerraron todas sus sesiones.
mail-second-step-do = Si lo pidió usted, póngalo otra vez en su teléfono nuevo. Si no, cambie ahora su contraseña y pregunte quién lo hizo.
trail-by-oneself = por sí mismo
trail-sign-ins-ended = { $count ->
    [one] se terminó una
   *[other] se terminaron { $count }
 }
