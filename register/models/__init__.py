"""All tables of the register."""

from register.models.accounts import User, UserRole
from register.models.assets import Asset, BoardFitting, Installation, StockLine
from register.models.cables import Cable, Core
from register.models.calibrations import CalibrationPoint
from register.models.catalogue import Bay, BoardFamily, CatalogueModel, ModelPort, ModelSignal
from register.models.drawings import DrawingReading
from register.models.imports import ImportPart, ImportRun, ImportState
from register.models.indexes import IndexFile, IndexMapping
from register.models.issues import IssueState, Pack, PackForm, SheetIssue
from register.models.loops import Alarm, Area, Gap, Link, Loop, Port, Settings, SettingsKind, Tag
from register.models.records import (
    Calibration,
    CatalogueRevision,
    Concession,
    Finding,
    Job,
    JobPart,
    PlantSettings,
    Revision,
    RuleSetting,
)
from register.models.stock import PlannedMovement, StockMovement
from register.models.tallies import LoopTally, TagTally
from register.models.views import SavedView, ViewOf
from register.models.work import BulkEdit, SwapDraft

__all__ = [
    "Alarm",
    "Area",
    "Asset",
    "Bay",
    "BoardFamily",
    "BoardFitting",
    "BulkEdit",
    "Cable",
    "Calibration",
    "CalibrationPoint",
    "CatalogueModel",
    "CatalogueRevision",
    "Concession",
    "Core",
    "DrawingReading",
    "Finding",
    "Gap",
    "ImportPart",
    "ImportRun",
    "ImportState",
    "IndexFile",
    "IndexMapping",
    "Installation",
    "IssueState",
    "Job",
    "JobPart",
    "Link",
    "Loop",
    "LoopTally",
    "ModelPort",
    "ModelSignal",
    "Pack",
    "PackForm",
    "PlannedMovement",
    "PlantSettings",
    "Port",
    "Revision",
    "RuleSetting",
    "SavedView",
    "Settings",
    "SettingsKind",
    "SheetIssue",
    "StockLine",
    "StockMovement",
    "SwapDraft",
    "Tag",
    "TagTally",
    "User",
    "UserRole",
    "ViewOf",
]
