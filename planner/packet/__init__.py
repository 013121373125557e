"""Paper: a checked job becomes a packet that is read at the tailgate, in gloves, in glare."""
