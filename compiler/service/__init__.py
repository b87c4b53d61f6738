"""What an editor asks of a script: functions over its text and a place in it, without files and without a protocol.

Places are numbers of characters from the start of the text, as spans have them.
"""
