"""Operations: parse, one action or selector, serialise."""
