# Words that every page and printout shares.

planning-aid = A planning aid, not an instruction: your local code, the maker's instructions for the device, and licensed or certified people have the last word.
