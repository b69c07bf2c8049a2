/* The alternating packet: any number dealt off one by one, the two parts riffled in any way, every pair one of each colour.
   CARDS, an even number, is given to the preprocessor. The colours of the packet are 0, 1, 0, 1 … from the top. Of those dealt the
   top card is the lowest; a riffle drops cards from the bottom of either part. How many cards lie in a part, and the colour of its
   lowest, say all there is to know of it. */

byte left;			/* cards dealt and not yet fallen */
byte right = CARDS;		/* cards not dealt and not yet fallen */
bit lowest_left = 0;
bit lowest_right = 1;
byte fallen;
bit packet[CARDS];		/* what forms, from the bottom */

init {
	byte place;
	do
	:: d_step { right > 0 -> right--; left++ }
	:: break
	od;
	do
	:: d_step { left > 0 ->
		packet[fallen] = lowest_left; lowest_left = 1 - lowest_left; left--; fallen++ }
	:: d_step { right > 0 ->
		packet[fallen] = lowest_right; lowest_right = 1 - lowest_right; right--; fallen++ }
	:: d_step { left + right == 0 ->
		do
		:: place < CARDS -> assert(packet[place] != packet[place + 1]); place = place + 2
		:: else -> break
		od };
		break
	od
}
