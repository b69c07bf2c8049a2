/* Cut anywhere, turn the top two over as a block, at most ROUNDS rounds, 10 cards: as many face up at odd places as at even ones.
   A card is its number, doubled, and 1 more where it is face up. */

byte packet[10];
byte rounds;

hidden byte old[10];
hidden byte cut, place, odd, even;

#define ROUND(at)	d_step { rounds < ROUNDS -> cut = at; round_of_it(); }

inline round_of_it() {
	place = 0;
	do
	:: place < 10 -> old[place] = packet[place]; place++
	:: else -> break
	od;
	packet[0] = old[(cut + 1) % 10] ^ 1;
	packet[1] = old[cut] ^ 1;
	place = 2; odd = packet[0] & 1; even = packet[1] & 1;
	do
	:: place < 10 ->
		packet[place] = old[(cut + place) % 10];
		if
		:: place % 2 == 0 -> odd = odd + (packet[place] & 1)
		:: else -> even = even + (packet[place] & 1)
		fi;
		place++
	:: else -> break
	od;
	assert(odd == even);
	rounds++
}

init {
	d_step {
		do
		:: place < 10 -> packet[place] = 2 * place; place++
		:: else -> break
		od
	}
	do
	:: ROUND(0) :: ROUND(1) :: ROUND(2) :: ROUND(3) :: ROUND(4)
	:: ROUND(5) :: ROUND(6) :: ROUND(7) :: ROUND(8) :: ROUND(9)
	:: break
	od
}
