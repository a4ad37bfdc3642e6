"""Background work with progress: what takes longer than a page may."""
