"""Where an audit's evidence is read and kept: folder trees, verification, flat tables on disk."""
