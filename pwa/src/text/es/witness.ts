import type { witnessWords as english } from "../en/witness";
import type { Shape } from "../shape";

export const witnessWords: Shape<typeof english> = {
  aTablet: "Una tableta",
  alarm: (tablet, position, at) => `${tablet} ha visto que el diario del servidor no es el que siguió: en la posición ${position}, ${at}.`,
  open: "Qué significa y qué hacer",
  means: "Algo que estaba en el diario se cambió o se quitó, o se puso en su lugar otra copia de la base de datos. Las tabletas conservan lo que tienen y siguen registrando.",
  todo: [
    "No restablezca ni revoque ninguna tableta: lo que recuerdan es la prueba. Haga una copia de la base de datos tal como está ahora.",
    "En el servidor, ejecute «dosebook log verify»: nombra la primera posición que no es válida y hasta dónde coinciden las tabletas. Si se repuso una copia a mano, repóngala con «dosebook restore».",
  ],
  had: (link) => `La tableta tenía: ${link}`,
  got: (link) => `El servidor dio: ${link}`,
  ask: "Ya se ha investigado",
  foundOut: "Qué se averiguó",
  foundOutHint: "Queda en el diario, con su nombre. Sin nombres ni números de pacientes.",
  answer: "Anotarlo en el diario",
};
