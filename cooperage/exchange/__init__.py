"""Files in and out: the import and export format, and copies of a whole cellar."""

from typing import TYPE_CHECKING

from cooperage.on_demand import names_on_demand

if TYPE_CHECKING:
    from cooperage.exchange.copying import copy_book as copy_book
    from cooperage.exchange.exporting import export_folder as export_folder
    from cooperage.exchange.exporting import is_workbook as is_workbook
    from cooperage.exchange.first_import import import_into as import_into
    from cooperage.exchange.importing import Imported as Imported
    from cooperage.exchange.importing import import_folder as import_folder
    from cooperage.exchange.importing import shift_to_yesterday as shift_to_yesterday
else:
    __all__, __getattr__, __dir__ = names_on_demand(
        __name__,
        {
            "copying": ("copy_book",),
            "exporting": ("export_folder", "is_workbook"),
            "first_import": ("import_into",),
            "importing": ("Imported", "import_folder", "shift_to_yesterday"),
        },
    )
