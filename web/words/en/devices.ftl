### What arrived late, and the devices that several people share.


devices-title = Shared devices
devices-about = Tablets on which people change by PIN. If one is lost, forget it here: nobody gets in with it any more.
devices-link-about = Tablets on which people change by PIN. Forget one that is lost.
devices-none = No device is trusted for PINs. Whoever wants to use one sets a PIN on it, under “On this phone”.
devices-nobody = Nobody has a PIN on it
devices-pins = PINs of { $names }
devices-this-one = (the one you are using)
devices-trusted = Trusted by { $by }, { $when }.
devices-used = Last PIN { $when }.
devices-unused = No PIN was used yet.
devices-signed-in = Signed in on it now: { $names }.
devices-which = Forget the device of { $by }, trusted { $when }
devices-sure = Forget this device?
devices-follows = Every PIN on it ends, and everybody who is signed in on it is signed out, at once. What was recorded on it and not sent stays on it until its person signs in there with the password.
devices-forget = Forget this device
devices-back = Back to set-up
