### Signing in, and the first visit.

sign-in-page-title = Sign in
sign-in-page-not = You are not signed in
sign-in-page-check-both = Check both and try again.
sign-in-page-mail = Mail address
sign-in-page-password = Password
sign-in-page-by-pin = By PIN
sign-in-page-for-pins = For whoever has set a PIN on this device.
sign-in-page-forgotten = No password yet, or forgotten? An owner of your business can give you a new link.
welcome-title = Welcome
welcome-set-up = Set up Chock
welcome-first = Nobody is here yet. You become the owner: you see every yard, and you invite everybody else.
welcome-name = Welcome, { $name }
welcome-choose = Choose a password. You sign in with it and with { $email }.
welcome-your-name = Your name
welcome-mail-hint = You sign in with it, and Chock tells you there what happens.
welcome-password-hint = 10 to 256 characters. Several plain words are fine.
welcome-again = The same password again
welcome-go-in = Set the password and go in
welcome-not-the-same = The two passwords are not the same. Type both again.
