"""Cuts the three fonts of the paper out of the variable fonts of the notebook. Needs fonttools and brotli."""
from fontTools.ttLib import TTFont
from fontTools import subset
from fontTools.varLib import instancer
import io, os
uni=list(range(0x20,0x7f))+list(range(0xa0,0x180))+list(range(0x391,0x3ca))+[0x3d5]+list(range(0x2009,0x2010))+list(range(0x2010,0x2028))+list(range(0x2070,0x2090))+[0x2002,0x2003,0x202f,0x2030,0x2032,0x2033,0x2039,0x203a,0x2044,0x2060,0x20ac]+[0x2190,0x2191,0x2192,0x2193,0x2194]+[0x2206,0x2211,0x2212,0x221a,0x221e,0x2248,0x2260,0x2264,0x2265,0x25a0,0x25b2,0x25bc,0x25c6,0x25ca,0x2713,0x215b]
for style,wght,name in [('roman',400,'regular'),('roman',650,'bold'),('italic',400,'italic')]:
    f=TTFont('../../../tarebook/assets/fonts/tarebook-serif-%s.woff2'%style)

    f=instancer.instantiateVariableFont(f,{'wght':wght,'opsz':11})
    f.flavor=None
    b=io.BytesIO(); f.save(b); b.seek(0); f=TTFont(b)
    o=subset.Options(); o.layout_features=['kern','mark','mkmk','ccmp','liga','lnum','tnum','sinf','subs','sups']; o.hinting=False; o.name_IDs=['*']; o.notdef_outline=True; o.drop_tables+=['STAT','MVAR','avar','HVAR']
    s=subset.Subsetter(o); s.populate(unicodes=uni); s.subset(f)
    sub={'regular':'Regular','bold':'Bold','italic':'Italic'}[name]
    for n in list(f['name'].names):
        if n.nameID==1: n.string='Tarebook Serif'
        elif n.nameID==2: n.string=sub
        elif n.nameID==3: n.string='Tarebook Serif '+sub
        elif n.nameID==4: n.string='Tarebook Serif '+sub
        elif n.nameID==6: n.string='TarebookSerif-'+sub
        elif n.nameID in(16,17,21,22,25): f['name'].names.remove(n)
    f['OS/2'].usWeightClass=700 if name=='bold' else 400
    f['OS/2'].fsSelection=(f['OS/2'].fsSelection & ~0b1100001)|{'regular':0x40,'bold':0x20,'italic':0x01}[name]
    f['head'].macStyle={'regular':0,'bold':1,'italic':2}[name]
    out='tarebook-serif-%s.ttf'%name; f.save(out); print(out,os.path.getsize(out),f['maxp'].numGlyphs)
