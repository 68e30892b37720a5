### One tablet, several people.

pin-page-title = PIN for this device
pin-page-what-it-is = For a tablet that several people use. With a PIN you change person quickly, on this device and nowhere else. A release still asks for your password.
pin-page-nobody = Nobody has a PIN here.
pin-page-people = A PIN here: { $names }.
pin-page-set-another = Set another PIN
pin-page-set-yours = Set your PIN
pin-page-digits = 4 to 8 digits. Not all the same, and no run such as 1234.
pin-page-again = The same PIN again
pin-page-password = Your password
pin-page-password-hint = So that nobody else sets a PIN in your name.
pin-page-ends = After five wrong PINs in a row your PIN is gone here, and only your password lets you in. A new password ends your PINs too. Who came in by PIN is signed out after 12 hours.
pin-page-set = Set the PIN
pin-page-take-off = Take your PIN off
pin-page-take-mine-off = Take my PIN off this device
pin-page-forget = Forget this device
pin-page-end-every = End every PIN on this device?
pin-page-forget-when = Before the tablet is sold, lent or sent away. Everybody then signs in with the password.
change-person-no-pin = No PIN works on this device yet. Sign in with your password, then set a PIN.
change-person-nobody-else = Nobody else has a PIN on this device. Sign in with your password, then set one.
change-person-nobody = Nobody has a PIN on this device. Sign in with your password, then set one.
change-person-who = Who are you?
change-person-go-on = Go on
change-person-with-password = With the password
change-person-signs-out = This signs { $name } out.
change-person-sign-in = Sign in with a password
change-person-set-pin = Set a PIN on this device
