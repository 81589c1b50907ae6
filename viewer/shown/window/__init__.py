"""The window: the only folder that imports PySide6 and pyqtgraph (`view_state` does without them)."""
