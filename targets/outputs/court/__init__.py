"""The court as a picture, for sheet, page and terminal: the receiving half large, the whole court small beside it.

The player is at the top, as the feeder sees it, and left and right are the feeder's, facing the player.
"""
