"""The piece as MusicXML 4.0: ``document`` writes it bar by bar."""
