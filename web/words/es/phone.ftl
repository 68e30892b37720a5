### Lo que está en el teléfono y todavía no en el servidor.

phone-what-it-is = Lo que usted anota se escribe primero aquí y se envía en cuanto hay señal. Hasta que diga «recibido», nadie más puede verlo.
phone-no-script = Esta página necesita JavaScript. Sin él, las revisiones se envían en cuanto pulsa el botón y no se guarda nada en el teléfono.
phone-nothing-waits = No hay nada pendiente de enviar.
phone-several = Varias personas, una tableta
phone-with-pin = Con un PIN se cambia rápido de persona en este dispositivo.
