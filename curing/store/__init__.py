"""What must last: the plans people were told, what happened, what was decided."""

from curing.store.faults import MissingState, OtherUnderKey, PlannedMeanwhile
from curing.store.heads import Heads
from curing.store.location import default_folder, sync_warning
from curing.store.outbox import Begun, Fresh, Step, end_unknown
from curing.store.plans import RevisionHeader, SavedRevision
from curing.store.record import Appended
from curing.store.state_folder import open_state
from curing.store.store import Store
from curing.store.weather import Asking, KeptRun

__all__ = [
    "Appended",
    "Asking",
    "Begun",
    "Fresh",
    "Heads",
    "KeptRun",
    "MissingState",
    "OtherUnderKey",
    "PlannedMeanwhile",
    "RevisionHeader",
    "SavedRevision",
    "Step",
    "Store",
    "default_folder",
    "end_unknown",
    "open_state",
    "sync_warning",
]
