"""A lesson made of one program: the words of the trade, and steps with this program's own figures. No Qt in here."""
