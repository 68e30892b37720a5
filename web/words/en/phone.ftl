### What is on the phone and not with the server yet.

phone-what-it-is = What you record is written here first and sent as soon as there is a signal. Until it says “received”, nobody else can see it.
phone-no-script = This page needs JavaScript. Without it, checks are sent as soon as you press the button and nothing is kept on the phone.
phone-nothing-waits = Nothing waits to be sent.
phone-several = Several people, one tablet
phone-with-pin = With a PIN you change person quickly on this device.
