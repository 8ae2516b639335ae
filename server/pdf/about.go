package pdf

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"time"
)

// info is what old readers show of a document; xmp says the same to newer ones.
func (a About) info() string {
	return fmt.Sprintf("<</Title %s /Author %s /Producer %s /CreationDate %s /ModDate %s>>",
		text(a.Title), text(a.Author), text(a.Producer), date(a.Made), date(a.Made))
}

// date is a moment as 7.9.4 writes it, in UTC.
func date(t time.Time) string { return t.UTC().Format("(D:20060102150405Z)") }

// xmp is the document's description as XML (ISO 16684-1).
func (a About) xmp() string {
	made := a.Made.UTC().Format("2006-01-02T15:04:05Z")
	return `<?xpacket begin="` + "\ufeff" + `" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:xmp="http://ns.adobe.com/xap/1.0/" xmlns:pdf="http://ns.adobe.com/pdf/1.3/">
<dc:format>application/pdf</dc:format>
<dc:identifier>` + escaped(a.ID) + `</dc:identifier>
<dc:title><rdf:Alt><rdf:li xml:lang="x-default">` + escaped(a.Title) + `</rdf:li></rdf:Alt></dc:title>
<dc:creator><rdf:Seq><rdf:li>` + escaped(a.Author) + `</rdf:li></rdf:Seq></dc:creator>
<dc:language><rdf:Bag><rdf:li>` + escaped(a.Lang) + `</rdf:li></rdf:Bag></dc:language>
<xmp:CreateDate>` + made + `</xmp:CreateDate><xmp:ModifyDate>` + made + `</xmp:ModifyDate>
<pdf:Producer>` + escaped(a.Producer) + `</pdf:Producer>
</rdf:Description></rdf:RDF></x:xmpmeta>
<?xpacket end="r"?>`
}

func escaped(s string) string {
	var b bytes.Buffer
	xml.EscapeText(&b, []byte(s)) // a buffer takes everything
	return b.String()
}
