"""What must last: the plans people were told, what happened, what was decided."""

from curing.store.faults import MissingState, OtherUnderKey, PlannedMeanwhile
from curing.store.location import default_folder, sync_warning
from curing.store.plans import RevisionHeader, SavedRevision
from curing.store.record import Appended
from curing.store.state_folder import open_state
from curing.store.store import Heads, Store

__all__ = [
    "Appended",
    "Heads",
    "MissingState",
    "OtherUnderKey",
    "PlannedMeanwhile",
    "RevisionHeader",
    "SavedRevision",
    "Store",
    "default_folder",
    "open_state",
    "sync_warning",
]
