### Pages that say why something could not be shown or taken.

error-sign-in = Sign in with your password
error-status = Status { $status }.
error-back = To go on with what you typed, use your browser's back button.
error-title-not-allowed = Not allowed
error-title-not-found = Not found
error-title-not-done = Not done
error-title-not-taken = Not taken
error-title-not-now = Not just now
error-title-went-wrong = Something went wrong
error-changed = Somebody else changed this while you looked at it. Look again, then decide.
error-unavailable = The database does not answer just now. Nothing was changed. Try again in a moment.
error-unsure = The database broke off just as this was being kept. It may have been done, or not: look before you do it again.
error-full = The disk of the server is full. Nothing was changed. What is on record can still be read. Tell whoever runs the server to make room, then do it again.
error-on-the-server = Something went wrong on the server. Nothing was changed. It has been logged.
error-no-such-page = There is no page at this address. Look for the machine by its unit number.
error-picture-later = The place where pictures are kept cannot be reached just now. Try again in a moment.
