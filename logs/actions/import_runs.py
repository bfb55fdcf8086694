"""Run an import: the same writing whether it is kept (a commit) or taken back (a dry run)."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from itertools import batched
from typing import Any, Final
from uuid import UUID

from django.db import transaction
from django.db.models import F

from coaching.policy import Principal
from coaching.refusals import Conflict, Fault, NotFound
from logs.actions.batch_records import record_log_batch
from logs.actions.import_items import ImportedItem, imported_items
from logs.actions.log_fields import KINDS, LISTS, Item, Kind
from logs.actions.log_imports import findings_of, table_of
from logs.imports.constants import MAX_ROWS
from logs.imports.mapping import ColumnMapping
from logs.imports.sessions import CheckInEntry, Gathered, SessionEntry, gathered
from logs.imports.typed_rows import CellFault, Question, Row
from logs.models.log_imports import ImportState, LogImport
from logs.selectors.log_imports import NO_IMPORT, ImportFacts, get_log_import, import_facts, list_log_imports
from logs.selectors.log_references import lock_logging_clients
"""
"""
