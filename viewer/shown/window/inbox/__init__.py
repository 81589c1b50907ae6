"""The inbox: folders in which programs arrive, each vetted beside the window, newest first."""
