/* Twenty-seven cards, any of them thought of, any number named: three times dealt into three piles and gathered by the number, then
   the card lies at the number. */

byte packet[27];
byte named = 1;
byte thought;

hidden byte old[27];
hidden byte place, theirs, above, pile, from;

/* Deals the packet into three piles and lays them on one another, theirs at the place that the number says. */
inline sort(divisor) {
	place = 0;
	do
	:: place < 27 ->
		old[place] = packet[place];
		if
		:: packet[place] == thought -> theirs = place % 3
		:: else
		fi;
		place++
	:: else -> break
	od;
	above = ((named - 1) / divisor) % 3;
	place = 0;
	do
	:: place < 27 ->
		pile = place / 9;
		if
		:: pile == above -> pile = theirs
		:: else ->
			/* The others keep their order, in the places that theirs leaves free. */
			if
			:: pile > above -> pile--
			:: else
			fi;
			if
			:: pile >= theirs -> pile++
			:: else
			fi
		fi;
		from = pile + 3 * (place % 9);
		packet[place] = old[from];
		place++
	:: else -> break
	od
}

init {
	d_step {
		do
		:: place < 27 -> packet[place] = place; place++
		:: else -> break
		od;
		place = 0
	}
	do
	:: d_step { named < 27 -> named++ }
	:: break
	od;
	do
	:: d_step { thought < 26 -> thought++ }
	:: break
	od;
	skip;
	d_step { sort(1); place = 0 };
	d_step { sort(3); place = 0 };
	d_step { sort(9); assert(packet[named - 1] == thought) }
}
