### What the API answers when it does not do what was asked.

problem-bad-token = The access token is not valid. Sign in again, or trade the refresh token for a new one.
problem-body-cut-short = The body could not be read to its end.
problem-changed = Somebody else changed this at the same moment. Get it again, then decide.
problem-give-object = Send an object with named members, not a list.
problem-give-member = Give "{ $member }".
problem-if-match = If-Match takes the ETag as it was given, in quotes.
problem-no-such-address = There is nothing at this address. What there is, is in /api/openapi.json.
problem-no-token = Send an access token with the request, in the Authorization header as Bearer.
problem-not-json = The body is not JSON: { $error }.
problem-not-understood = This could not be understood: { $message }.
problem-not-utf-8 = The text is not UTF-8. Save the file as UTF-8.
problem-on-the-server = Something went wrong on the server. Nothing was changed. It has been logged.
problem-picture-cut-short = The picture could not be read to its end.
problem-picture-later = The place where pictures are kept cannot be reached just now. What it belongs to is in. Send the picture again.
problem-query = What stands after the ? could not be understood: { $error }.
problem-query-name = This address takes nothing called “{ $name }” after the ?.
problem-key = An Idempotency-Key has 1 to { $most } characters.
problem-send-checklist-file = Send the checklist file as it is, with Content-Type: application/toml or text/plain.
problem-send-plain = Send the body as it is, without a content coding such as gzip.
problem-send-json = Send JSON, with Content-Type: application/json.
problem-send-import-file = Send a table as text/csv, or a fleet’s hours as application/xml or application/json.
problem-send-picture = Send the picture as it is, with Content-Type: image/jpeg or image/png.
problem-session-over = You are signed out. Sign in again; nothing you saved is lost.
problem-somebody-else = Somebody else recorded it. It is sent when they sign in on this phone again.
problem-stale = It has changed since you looked. Get it again, then decide.
problem-too-large = The body is larger than is taken here: 256 KiB, or 16 MiB for a photo.
problem-unavailable = The database does not answer just now. Nothing was changed. Try again in a moment.
problem-unsure = The database broke off just as this was being kept. It may have been done, or not: look before you send it again.
problem-no-text = A text holds a character that cannot be kept (NUL, U+0000). Nothing was changed. Take it out.
problem-full = The disk of the server is full. Nothing was changed. What is on record can still be read. Tell whoever runs the server to make room, then do it again.
problem-uuid-7 = Make the id a UUID of version 7 (RFC 9562).
problem-wrong-method = This address takes { $methods }.
hours-say = Say what the hour meter shows.
person-rate-such-as = Give what an hour costs, such as 45.00.
photo-too-large = The picture was not kept: it is larger than { $most } megapixels.
photo-unknown-format = The picture was not kept: it is no JPEG or PNG picture.
photo-unreadable = The picture was not kept: it is no JPEG or PNG picture that can be read.

## Titles, after the phrases of RFC 9110

problem-title-bad-request = Bad Request
problem-title-conflict = Conflict
problem-title-forbidden = Forbidden
problem-title-internal-server-error = Internal Server Error
problem-title-method-not-allowed = Method Not Allowed
problem-title-not-found = Not Found
problem-title-content-too-large = Content Too Large
problem-title-precondition-failed = Precondition Failed
problem-title-service-unavailable = Service Unavailable
problem-title-insufficient-storage = Insufficient Storage
problem-title-unauthorized = Unauthorized
problem-title-unprocessable-content = Unprocessable Content
problem-title-unsupported-media-type = Unsupported Media Type
problem-title-too-many-requests = Too Many Requests

problem-another-site = This was asked for by another site. Open Chock and do it there.
