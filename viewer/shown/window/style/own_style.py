"""`OwnStyle`: Qt's plain style with our icons in dialogs, where it would show icons of its own."""

from __future__ import annotations

from typing import Final

from PySide6.QtGui import QGuiApplication, QIcon
from PySide6.QtWidgets import QProxyStyle, QStyle, QStyleOption, QWidget

from viewer.shown.window.style.icons import icon
from viewer.shown.window.style.inks import is_dark

_Kind = QStyle.StandardPixmap
BASE: Final = "Fusion"
DIALOG_ICONS: Final[dict[QStyle.StandardPixmap, tuple[str, str]]] = {
    _Kind.SP_DialogOkButton: ("done", "text"),
    _Kind.SP_DialogYesButton: ("done", "text"),
    _Kind.SP_DialogApplyButton: ("done", "text"),
    _Kind.SP_DialogSaveButton: ("done", "text"),
    _Kind.SP_DialogOpenButton: ("open", "text"),
    _Kind.SP_DialogCancelButton: ("leave", "text"),
    _Kind.SP_DialogCloseButton: ("leave", "text"),
    _Kind.SP_DialogNoButton: ("leave", "text"),
    _Kind.SP_DialogHelpButton: ("help", "text"),
    _Kind.SP_FileDialogToParent: ("folder_up", "text"),
    _Kind.SP_FileDialogNewFolder: ("folder_new", "text"),
    _Kind.SP_FileDialogBack: ("back", "text"),
    _Kind.SP_ArrowBack: ("back", "text"),
    _Kind.SP_ArrowForward: ("forward", "text"),
    _Kind.SP_FileDialogListView: ("list", "text"),
    _Kind.SP_FileDialogDetailedView: ("table", "text"),
    _Kind.SP_DirIcon: ("folder", "text"),
    _Kind.SP_DirClosedIcon: ("folder", "text"),
    _Kind.SP_DirOpenIcon: ("folder", "text"),
    _Kind.SP_DirHomeIcon: ("folder", "text"),
    _Kind.SP_ComputerIcon: ("folder", "text"),
    _Kind.SP_DriveHDIcon: ("folder", "text"),
    _Kind.SP_DesktopIcon: ("folder", "text"),
    _Kind.SP_FileIcon: ("file", "text"),
    _Kind.SP_MessageBoxInformation: ("help", "accent"),
    _Kind.SP_MessageBoxQuestion: ("help", "accent"),
    _Kind.SP_MessageBoxWarning: ("severity_look", "warn"),
    _Kind.SP_MessageBoxCritical: ("severity_stop", "stop"),
}
"""Our icon and its colour (`colours.ui`) for each of Qt's that a dialog of ours shows."""


class OwnStyle(QProxyStyle):
    """Everything but icons is Qt's; nothing else is overridden, so that painting does not go through Python."""

    def __init__(self) -> None:
        super().__init__(BASE)

    def standardIcon(
        self, kind: QStyle.StandardPixmap, option: QStyleOption | None = None, widget: QWidget | None = None
    ) -> QIcon:
        """Return our icon where there is one."""
        own = DIALOG_ICONS.get(kind)
        if own is None:
            return super().standardIcon(kind, option, widget)
        dark = is_dark(QGuiApplication.palette())
        return icon(own[0], dark, own[1])
