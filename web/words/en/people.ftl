### People: who works here, in which roles and yards.

people-back-set-up = Back to set-up
people-title = People
people-add = Add a person
people-count = { $count ->
    [one] { $count } person
   *[other] { $count } people
 }
people-name = Name
people-mail = Mail address
people-link = Link
people-roles = Roles
people-yards = Yards
people-rate = Rate an hour
people-state = State
people-link-once = You get a link that works once. The person chooses a password with it.
people-add-this = Add this person
people-back = Back to the people
people-change-at-once = A change takes effect at once.
people-save = Save
people-sign-in-again = Sign in again
people-new-link = For a new or forgotten password: a link that works once, for seven days. The new password ends everything that is signed in with the old one, and every PIN.
people-make-link = Make a one-time link
people-let-back = Let back in
people-disable = Disable
people-let-in-question = Let { $name } in again?
people-let-in = Let { $name } in
people-disable-question = Disable { $name }?
people-disable-means = Everything that is signed in ends at once. What { $name } did stays on record.
people-disable-name = Disable { $name }
people-mail-hint = Signs in with it, and alerts go here.
people-owner-sees = An owner sees every yard.
people-rate-hint = For labour on work orders.
people-link-for = Link for { $name }
people-shown-once = It is shown this once.
people-hand-over = Hand it over yourself: whoever opens it first chooses the password. It works for seven days.
people-all-yards = all
people-disabled = disabled
people-invited = invited
people-active = active
people-is-disabled = This person is disabled.
people-is-invited = This person is invited. No password is chosen yet.
people-is-active = This person is active.
people-rate-in = Rate an hour, { $currency }
people-refuse-rate = Give an amount such as 42.50, or leave it empty.
