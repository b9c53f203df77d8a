"""Files in and out: the import and export format, and copies of a whole cellar."""

from cooperage.exchange.copying import copy_book
from cooperage.exchange.exporting import export_folder, is_workbook
from cooperage.exchange.first_import import import_into
from cooperage.exchange.importing import Imported, import_folder, shift_to_yesterday

__all__ = [
    "Imported",
    "copy_book",
    "export_folder",
    "import_folder",
    "import_into",
    "is_workbook",
    "shift_to_yesterday",
]
