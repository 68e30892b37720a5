### Where one is signed in, one's own password, and the second step of signing in.

sessions-title = Where you are signed in
sessions-about = Each browser and program that is signed in as you, and each device on which your PIN works.
sessions-link = See where you are signed in
sessions-link-about = Each browser, program and PIN. End what is not yours.
sessions-which = Signed in
sessions-by-pin = { $program }, by PIN
sessions-api = { $program }, a program that uses the API
sessions-device = Your PIN on the device that { $by } trusted
sessions-unknown-program = A program that does not say its name
sessions-this-one = (this one)
sessions-network = From the network { $network }.
sessions-since = Signed in { $when }.
sessions-used = Last used { $when }.
sessions-pin-since = Set { $when }.
sessions-all-others = All but this one
sessions-end = End what is ticked
sessions-password-hint = So that nobody else signs you out.
sessions-not-yours = If one of them is not yours, end it and then change your password.
sessions-only-this = You are signed in nowhere else.
sessions-choose = Tick what is to be ended.
sign-in-kind-pages = pages
sign-in-kind-pages-by-pin = pages by PIN
sign-in-kind-api = API
sign-in-kind-pin-on-a-device = PIN on a device

password-title = Your password
password-link = Change your password
password-link-about = Whatever else is signed in with it ends.
password-ends = A new password signs you out everywhere else and ends your PINs.
password-present = The password you have now
password-new = The new password
password-again = The new password again
password-change = Change the password
password-common = This is one of the passwords that are tried first. Choose another, for instance several words that have nothing to do with one another.
password-known-words = This is made of your name, your address or a word that everybody guesses. Choose words that have nothing to do with you or with this site.

second-step-title = Second step of signing in
second-step-about = After your password, your phone shows a code of six figures, new every half minute. Whoever finds out your password does not get in without your phone.
second-step-link = Set up or change the second step
second-step-link-about = A code from your phone after the password.
second-step-first = Your business asks for it. Set it up now; until then nothing else opens.
second-step-since = It is on since { $when }.
second-step-codes-left = { $count ->
    [one] One recovery code is left.
   *[other] { $count } recovery codes are left.
 }
second-step-new-codes = New recovery codes
second-step-new-codes-about = The ones you have stop working.
second-step-make-codes = Make new recovery codes
second-step-take-away = Take the second step away
second-step-take-away-about = Then your password alone lets in whoever knows it. For a new phone: take it away, then set it up again.
second-step-set-up = Set it up
second-step-need = You need a program for one-time codes (TOTP) on your phone. It works without a signal.
second-step-password-hint = So that nobody else sets it up in your name.
second-step-go-on = Go on
second-step-scan = In the program on your phone, add an account and read this symbol with the camera.
second-step-then-code = Type the code that the program then shows.
second-step-symbol = Symbol that the program on your phone reads
second-step-by-hand = Or type this key into it:
second-step-on-this-phone = The program is on this phone: open it
second-step-code = Code
second-step-code-hint = Six figures, as the phone shows them now.
second-step-confirm = Switch it on
second-step-codes-title = Your recovery codes
second-step-codes-once = They are shown this once. Write them down or print this page, and keep it away from your phone.
second-step-codes-about = If the phone is lost, each of them lets you in once in place of a code.
second-step-codes-kept = I have kept them
second-step-end-others = See where else you are signed in
second-step-sign-in = The code from your phone
second-step-sign-in-about = Your password is right. Now the code that your phone shows.
second-step-or-recovery = Six figures, or one of your recovery codes.
second-step-begin-anew = Begin again
second-step-phone-lost = Phone and recovery codes lost? An owner of your business can take your second step away.
second-step-is-asked = Supervisors and owners must have a second step.
second-step-not-asked = Everybody may have a second step. Nobody must.
second-step-has = has one
second-step-has-not = has none
second-step-asking-means = Supervisors and owners without one then have to set it up before anything else opens, also in programs that use the API.
second-step-ask = Ask it of supervisors and owners
second-step-ask-no-more = Ask it no more
second-step-link-owner = A code from the phone after the password: who has it, and whether supervisors and owners must.
second-step-code-first = Your password is right. The code of your second step is needed as well.
second-step-set-up-first = Your business asks you for a second step of signing in. Set it up on the pages, under your name.
second-step-is-on = Your second step is on already. Take it away first.
second-step-is-off = There is no second step that is on.
second-step-begin-again = Begin again: this key is not waiting for a code any more.
second-step-yours-first = Set up your own second step first, so that you do not shut yourself out.
second-step-over = That took too long, or too many codes were wrong. Sign in again with your password.
second-step-give = Give the code.
second-step-wrong = This code is not right, or it was used. Wait for the next one and type that.
people-password-hint = Rights are given with your password.
people-second-step = Second step
people-second-step-about = { $name } gives a code from the phone after the password. If the phone is lost, take the step away here: { $name } is signed out everywhere and told by mail. Make sure that it is { $name } who asks.
people-second-step-remove = Take the second step of { $name } away
notice-password-changed = Your password is changed. You are signed out everywhere else.
notice-sign-ins-ended = What you ticked has ended.
notice-second-step-removed = The second step is taken away.
alert-kind-second-step-removed = a second step was taken away
mail-subject-second-step = Your second step of signing in was taken away
mail-second-step = { $by } took your second step of signing in away, { $when }. You were signed out everywhere.
mail-second-step-do = If you asked for it, set it up again on your new phone. If you did not, change your password now and ask who did.
trail-by-oneself = by themselves
trail-sign-ins-ended = { $count ->
    [one] one was ended
   *[other] { $count } were ended
 }
