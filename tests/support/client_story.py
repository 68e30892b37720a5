"""The main job by a client that was generated from the API's own document. Type-checked before it is run.

Takes the server's address and the password of everybody. Whatever is not as promised ends it with an error.
"""

import sys
from typing import TypeVar

from chock_client import AuthenticatedClient, Client
from chock_client.api.checklists import next_check
from chock_client.api.checks import submit_check
from chock_client.api.defects import see_defect
from chock_client.api.machines import list_machines, see_machine
from chock_client.api.sessions import sign_in
from chock_client.api.work_orders import (
    claim_work_order,
    finish_work,
    release_machine,
    retest_defect,
    see_queue,
    see_work_order,
    start_labour,
    stop_labour,
)
from chock_client.models import (
    Answer,
    Asked,
    Check,
    ChecklistItem,
    CheckVerdict,
    DefectState,
    DefectWhole,
    DefectWork,
    Level,
    Load,
    MachineAtGate,
    Machines,
    NextCheck,
    OrderState,
    Outcome,
    Problem,
    Queue,
    ReleaseAnswer,
    ReleaseNote,
    Retest,
    RetestOutcome,
    Session,
    SignIn,
    Standing,
    WorkDone,
    WorkDoneDefects,
    WorkOrder,
)
from chock_client.types import Unset

T = TypeVar("T")
url, password = sys.argv[1:]


def a(kind: type[T], answer: object) -> T:
    """The answer, when it is of this kind and no problem."""
    assert isinstance(answer, kind), answer
    return answer


def signed_in(name: str) -> AuthenticatedClient:
    who = SignIn(email=f"{name}@yard.example", password=password)
    session = a(Session, sign_in.sync(client=Client(base_url=url), body=who))
    assert session.token_type == "Bearer"
    return AuthenticatedClient(base_url=url, token=session.access_token)


def well(item: ChecklistItem, position: str | None) -> Answer:
    """As it should be."""
    answer = Answer(item=item.key, position=position)
    if item.asks == Asked.LEVEL:
        answer.level = Level.BETWEEN
    elif item.measure:
        least = item.measure.unladen.at_least
        assert isinstance(least, float)
        answer.value, answer.unit = least * 2, item.measure.base
    else:
        answer.outcome = Outcome.OK
    return answer


operator, mechanic, supervisor = signed_in("otto"), signed_in("mats"), signed_in("sara")

# A failed check grounds the machine.
found = a(Machines, list_machines.sync(client=operator, unit="u 7")).machines
assert [m.unit_number for m in found] == ["U-07"] and found[0].standing == Standing.FIT_FOR_USE
machine = found[0].id
form = a(NextCheck, next_check.sync(machine, client=operator))
answers = []
for item in (item for zone in form.zones for item in zone.items):
    positions: list[str | None] = [p.key for p in item.positions]
    answers += [well(item, position) for position in positions or [None]]
leak = next(answer for answer in answers if answer.item == "fuel-leak")
leak.outcome, leak.note = Outcome.DEFECT, "Drips under the seat"
check = Check(machine=machine, checklist=form.checklist, load=Load.UNLADEN, answers=answers)
verdict = a(CheckVerdict, submit_check.sync(form.check, client=operator, body=check))
assert verdict.standing == Standing.OUT_OF_SERVICE
# Sent again, it is the same one.
again = submit_check.sync_detailed(form.check, client=operator, body=check)
assert again.status_code == 200 and again.parsed == verdict
gate = a(MachineAtGate, see_machine.sync(machine, client=operator))
defect, order = verdict.findings[0].defect, verdict.work_order
assert gate.standing == Standing.OUT_OF_SERVICE and gate.holds[0].defect == defect
assert order and not isinstance(order, Unset)

# The mechanic takes it; the operator may not.
assert a(Problem, claim_work_order.sync(order, client=operator)).status == 403
assert a(Queue, see_queue.sync(client=mechanic)).work_orders[0].id == order
seen = see_work_order.sync_detailed(order, client=mechanic)
claimed = a(WorkOrder, claim_work_order.sync(order, client=mechanic, if_match=seen.headers["ETag"]))
assert claimed.mine and claimed.state == OrderState.CLAIMED
stale = a(Problem, start_labour.sync(order, client=mechanic, if_match=seen.headers["ETag"]))
assert stale.status == 412
assert a(WorkOrder, start_labour.sync(order, client=mechanic)).my_clock_runs
a(WorkOrder, stop_labour.sync(order, client=mechanic))
work = WorkDoneDefects()
work[str(defect)] = DefectWork(cause="The hose chafed", remedy="New hose")
done = a(WorkOrder, finish_work.sync(order, client=mechanic, body=WorkDone(defects=work)))
assert done.state == OrderState.WORK_DONE

# Repaired is not released: the failed item again, then a signature.
assert a(Problem, release_machine.sync(order, client=supervisor, body=ReleaseNote())).status == 409
failed = done.defects[0].failed[0]
tried = Retest(answers=[Answer(item=failed.item, position=failed.position or None, outcome=Outcome.OK)])
assert a(RetestOutcome, retest_defect.sync(order, defect, client=mechanic, body=tried)).passed
signed = a(ReleaseAnswer, release_machine.sync(order, client=supervisor, body=ReleaseNote(note="Looked myself")))
assert signed.fit_for_use and not signed.released_by_repairer
gate = a(MachineAtGate, see_machine.sync(machine, client=operator))
assert gate.standing == Standing.FIT_FOR_USE and not gate.holds and not gate.open_defects
closed = a(DefectWhole, see_defect.sync(defect, client=operator))
assert closed.state == DefectState.CLOSED and closed.remedy == "New hose"
print("released")
