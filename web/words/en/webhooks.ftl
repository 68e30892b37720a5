### Webhooks: other programs that are told.

webhook-title = Webhooks
webhook-about = Other programs can be told of what happens here, each at its own address. What is sent is signed as the Standard Webhooks specification, version 1.0, has it.
webhook-link-about = Tell other programs of what happens here.
webhook-none = No other program is told yet. Add its address below.
webhook-address = Address
webhook-address-hint = In full, such as https://hooks.example.org/yard.
webhook-public-only = Addresses inside a private network are not sent to. The server's settings can allow it.
webhook-for = What it is for
webhook-state = State
webhook-on = on
webhook-off = switched off
webhook-failing = on, but takes nothing
webhook-off-because = Its last answer: { $answer }
webhook-every-yard = every yard
webhook-kinds = It is told when
webhook-kinds-hint = None chosen: of all of these.
webhook-add = Add an address
webhook-add-this = Add this address
webhook-one = A webhook
webhook-back = Back to the webhooks
webhook-secret = Secret
webhook-secret-once = Copy it now into the other program: it is not shown again.
webhook-secret-use = With it the other program proves that a message is from here and unchanged.
webhook-secret-kept = I have copied it
webhook-both-until = The one before also signs, until { $when }.
webhook-try = Send a test message
webhook-switch-on = Switch it on
webhook-switch-off = Switch it off
webhook-rotate = Make a new secret
webhook-rotate-means = The one it has signs beside the new one for 24 hours, so that nothing is missed meanwhile.
webhook-rotate-do = Make a new secret
webhook-remove = Remove it
webhook-remove-means = Nothing more is sent there, also nothing that still waits.
webhook-remove-do = Remove this address
webhook-sent = What was sent
webhook-nothing-yet = Nothing has been sent there yet. A test message shows whether it arrives.
webhook-newest = { $count ->
    [one] { $count } message, newest first
   *[other] { $count } messages, newest first
 }
webhook-message = Message
what-webhook-address = the address
what-webhook-for = what it is for
webhook-address-needed = Give the whole address, beginning with https://, without a user in it.
trail-act-webhook-added = webhook added
trail-act-webhook-secret-changed = webhook secret changed
trail-act-webhook-switched-on-or-off = webhook switched on or off
trail-act-webhook-removed = webhook removed
trail-subject-webhook = webhook
thing-webhook = webhook
